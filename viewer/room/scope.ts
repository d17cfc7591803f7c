/** Calls what a view listens with to the width of the window. */
export type Measures = (() => void)[];

/**
 * A drawing listens to the window, to the colour scheme, to paper. It is replaced at every edit, and what it listens
 * with has to go with it, or each edit would leave a whole run behind. So whoever draws collects the listeners that are
 * added meanwhile, and a view need not know that it will be replaced.
 *
 * @param measures takes what lets the drawn measure itself, without a word to whatever else listens to the window
 */
export function withListenersUntil<T>(signal: AbortSignal, draw: () => T, measures: Measures = []): T {
  const { addEventListener } = EventTarget.prototype;
  EventTarget.prototype.addEventListener = function (type, listener, options) {
    const given = typeof options === "boolean" ? { capture: options } : options;
    addEventListener.call(this, type, listener, { signal, ...given });
    const isOfWindow = this === undefined || this === window;
    if (isOfWindow && type === "resize" && typeof listener === "function")
      measures.push(() => {
        if (given?.once === true) removeEventListener(type, listener);
        listener.call(window, new Event(type));
      });
  };
  try {
    return draw();
  } finally {
    EventTarget.prototype.addEventListener = addEventListener;
  }
}

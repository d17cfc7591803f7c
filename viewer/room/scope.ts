/**
 * A drawing listens to the window, to the colour scheme, to paper. It is replaced at every edit, and what it listens
 * with has to go with it, or each edit would leave a whole run behind. So whoever draws collects the listeners that are
 * added meanwhile, and a view need not know that it will be replaced.
 */
export function withListenersUntil<T>(signal: AbortSignal, draw: () => T): T {
  const { addEventListener } = EventTarget.prototype;
  EventTarget.prototype.addEventListener = function (type, listener, options) {
    const given = typeof options === "boolean" ? { capture: options } : options;
    addEventListener.call(this, type, listener, { signal, ...given });
  };
  try {
    return draw();
  } finally {
    EventTarget.prototype.addEventListener = addEventListener;
  }
}

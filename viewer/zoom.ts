/** Wheel, pinch and drag on anything that shows the window: d3-zoom for the gestures, the store for the truth. */
import { type D3ZoomEvent, scaleLinear, select, type ZoomBehavior, zoom, zoomIdentity } from "d3";
import type { Store } from "./store.ts";

export interface Plot {
  /** Where the window's first and last instants lie, in pixels from the element's left edge. */
  readonly leftPixels: number;
  readonly widthPixels: number;
}

export interface Zoomable {
  /** After the window or the size of the plot has changed from elsewhere. */
  follow(): void;
}

/**
 * @param plotOf where the time axis lies in the element now.
 * @param onPlainWheel called when somebody turns the wheel without a modifier, which scrolls the page.
 */
export function makeZoomable(
  element: HTMLElement,
  store: Store,
  plotOf: () => Plot,
  onPlainWheel: () => void,
): Zoomable {
  const length = store.lengthSeconds;
  const show = () => {
    const { leftPixels, widthPixels } = plotOf();
    return scaleLinear([0, length], [leftPixels, leftPixels + widthPixels]);
  };
  let following = false;
  const behaviour: ZoomBehavior<HTMLElement, unknown> = zoom<HTMLElement, unknown>()
    .filter((event: Event) => {
      if (event instanceof WheelEvent) {
        const zooms = event.ctrlKey || event.metaKey;
        if (!zooms) onPlainWheel();
        return zooms;
      }
      // One finger scrolls the page; two zoom.
      if ("touches" in event) return (event as TouchEvent).touches.length > 1;
      return event instanceof MouseEvent && event.button === 0 && !event.ctrlKey && !isControl(event.target);
    })
    .extent(() => {
      const { leftPixels, widthPixels } = plotOf();
      return [
        [leftPixels, 0],
        [leftPixels + widthPixels, 1],
      ];
    })
    // A press that moves less is a click: it places the cursor.
    .clickDistance(4)
    .on("zoom", (event: D3ZoomEvent<HTMLElement, unknown>) => {
      if (following) return;
      const [fromSeconds, toSeconds] = event.transform.rescaleX(show()).domain() as [number, number];
      store.set({ fromSeconds, toSeconds }, true);
    });

  keepTouches(element);
  const selection = select(element).call(behaviour).on("dblclick.zoom", null);
  const follow = () => {
    const { leftPixels, widthPixels } = plotOf();
    if (widthPixels <= 0 || length <= 0) return;
    const { fromSeconds, toSeconds } = store.look();
    const scale = length / (toSeconds - fromSeconds);
    behaviour.scaleExtent([1, Math.max(1, length / 0.001)]).translateExtent([
      [leftPixels, Number.NEGATIVE_INFINITY],
      [leftPixels + widthPixels, Number.POSITIVE_INFINITY],
    ]);
    const startPixels = leftPixels + (fromSeconds / length) * widthPixels;
    following = true;
    selection.call(behaviour.transform, zoomIdentity.translate(leftPixels - startPixels * scale, 0).scale(scale));
    following = false;
  };
  follow();
  store.subscribe(follow);
  return { follow };
}

/**
 * A finger's events go to what it came down on, even when that is no longer in the page, and a zoom draws anew what lies
 * under the fingers. So what such a piece still hears is handed on.
 */
function keepTouches(element: HTMLElement): void {
  /** Two fingers may come down on one. */
  const kept = new Set<EventTarget>();
  element.addEventListener("touchstart", ({ changedTouches }) => {
    for (const { target } of changedTouches) {
      if (!(target instanceof Element) || kept.has(target)) continue;
      kept.add(target);
      const listening = new AbortController();
      const handOn = (event: TouchEvent) => {
        if (event.type !== "touchmove" && event.targetTouches.length === 0) {
          listening.abort();
          kept.delete(target);
        }
        if (target.isConnected) return;
        const { type, cancelable, touches, targetTouches, changedTouches } = event;
        const same = new TouchEvent(type, {
          ...{ bubbles: true, cancelable, view: window },
          ...{ touches: [...touches], targetTouches: [...targetTouches], changedTouches: [...changedTouches] },
        });
        if (!element.dispatchEvent(same)) event.preventDefault();
      };
      for (const type of ["touchmove", "touchend", "touchcancel"] as const)
        target.addEventListener(type, handOn as EventListener, { passive: false, signal: listening.signal });
    }
  });
}

function isControl(target: EventTarget | null): boolean {
  return (
    target instanceof Element &&
    target.closest("button, a, input, select, summary, [role=button], [role=slider]") !== null
  );
}

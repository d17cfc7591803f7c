/** A page that nobody looks at has no frames to wait for. */
const WITHOUT_FRAMES_MS = 250;

/** Does it once what stands now is on the screen, which it is in the second frame. Returns the way to stop it. */
export function afterFrame(act: () => void): () => void {
  let isOver = false;
  const once = () => {
    if (!isOver) act();
    isOver = true;
  };
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(once)));
  setTimeout(once, WITHOUT_FRAMES_MS);
  return () => {
    isOver = true;
  };
}

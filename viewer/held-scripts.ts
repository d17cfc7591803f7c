/**
 * Scripts that the page holds as text, in `<script type="text/plain" id="…" data-after="…">`: what people do not wait for
 * is read and run when it is needed, and a worker is made of such texts. `data-after` has the ids of all that must have
 * run before, in their order.
 */

/** Of the window, or of the worker: what each script that has run left for others, by its id. */
export const LEFT_BY_SCRIPTS = "pulltestScripts";

/** Runs it, now, and before it what it needs; what has run is not run again. Throws where the page does not hold it. */
export function runHeld(page: Document, id: string): void {
  for (const each of inOrder(page, id)) {
    if (each.id in leftHere()) continue;
    const script = page.createElement("script");
    // The content policy knows it by its text.
    script.textContent = each.textContent;
    page.head.append(script);
    script.remove();
    if (!(each.id in leftHere())) throw new Error(`the page's script "${each.id}" did not run`);
  }
}

/** What a worker is made of: the script and what it needs. */
export function textOfHeld(page: Document, id: string): string {
  return inOrder(page, id)
    .map(({ textContent }) => textContent)
    .join("\n");
}

function leftHere(): object {
  return (globalThis as { [LEFT_BY_SCRIPTS]?: object })[LEFT_BY_SCRIPTS] ?? {};
}

function inOrder(page: Document, id: string): readonly HTMLElement[] {
  const found = (one: string) => {
    const script = page.getElementById(one);
    if (script === null) throw new Error(`this page does not hold the script "${one}" that it should: make it again`);
    return script;
  };
  const held = found(id);
  return [...(held.dataset.after?.split(" ").map(found) ?? []), held];
}

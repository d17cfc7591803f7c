/** Weight and colour on a terminal that takes them; plain text everywhere else. Colour is never the only sign. */
import { styleText } from "node:util";

export type Style = "bold" | "dim" | "yellow" | "red" | "cyan";
export type Ink = (style: Style, text: string) => string;

export const plainInk: Ink = (_style, text) => text;

/** https://no-color.org: any value that is not empty turns colour off. FORCE_COLOR turns it on where there is no terminal. */
export function inkFor(stream: { readonly isTTY?: boolean }, env: NodeJS.ProcessEnv): Ink {
  if (env.NO_COLOR) return plainInk;
  const isForced = env.FORCE_COLOR !== undefined && env.FORCE_COLOR !== "" && env.FORCE_COLOR !== "0";
  if (!isForced && (stream.isTTY !== true || env.TERM === "dumb")) return plainInk;
  return (style, text) => styleText(style, text, { validateStream: false });
}

/** For an option that may be given several times: all that was given, in order. */
export function collected(text: string, before: string[] | undefined): string[] {
  return [...(before ?? []), text];
}

/** A figure of the bench: two things measured in turn, what their ratio should come to, and how all of it is printed. */

export interface Ratio {
  readonly what: string;
  readonly ratio: number;
  /** Null: for information. */
  readonly goal: { readonly is: "at least" | "at most"; readonly ratio: number; readonly aim?: number } | null;
  readonly ours: string;
  readonly theirs: string;
}

function isReached({ ratio, goal }: Ratio): boolean | null {
  if (goal === null) return null;
  return goal.is === "at least" ? ratio >= goal.ratio : ratio <= goal.ratio;
}

function figure(ratio: number): string {
  return ratio >= 100 ? Math.round(ratio).toLocaleString("en-GB") : ratio.toFixed(2);
}

function line(each: Ratio): string {
  const { what, ratio, goal, ours, theirs } = each;
  const aim = goal?.aim === undefined ? "" : `, aim ${figure(goal.aim)}${ratio >= goal.aim ? "" : " not"} reached`;
  const verdict =
    goal === null ? "no goal" : `goal ${goal.is} ${figure(goal.ratio)} ${isReached(each) ? "reached" : "missed"}${aim}`;
  return `${figure(ratio).padStart(7)}  ${what}: ${verdict} (${ours} against ${theirs})`;
}

export function print(ratios: readonly Ratio[], asJson: boolean): void {
  if (asJson)
    console.log(
      JSON.stringify(
        ratios.map((each) => ({ ...each, reached: isReached(each) })),
        null,
        2,
      ),
    );
  else for (const each of ratios) console.log(line(each));
}

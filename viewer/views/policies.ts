/**
 * A leader's return under five policies side by side: first the advice, then a table of listeners by policies, then what
 * each policy changes. Where the run was not played under them, how to have it so.
 */
import { FEED_LOOKS, REALIGNED_LOOK, type StateLook } from "../../shared/states.ts";
import { feedOf } from "../../sim/by-id.ts";
import { absencesOf } from "../../sim/policies/absence.ts";
import type { Outcome } from "../../sim/policies/outcome.ts";
import type { Policy } from "../../sim/policies/variants.ts";
import type { PolicyComparison, PolicyOutcome } from "../../sim/policies.ts";
import {
  adviceSentences,
  changeSentence,
  comparisonSentences,
  editText,
  endSentence,
  type HeardUnder,
  heardUnder,
  policyName,
} from "../../sim/tell/policies.ts";
import { capital, listed, listener } from "../../sim/tell/words.ts";
import { foldedIfLong, h, part, table } from "../dom.ts";
import { namesApart, type Run } from "../run.ts";
import { signIcon } from "./sign.ts";

/** Null where no leader comes back in this run. */
export function policiesPart(run: Run): HTMLElement | null {
  const { policies } = run;
  if (policies === undefined)
    return absencesOf(run).length === 0
      ? null
      : returnPart(
          h(
            "p",
            { class: "none" },
            "A leader goes away and comes back in this run. To see that under five policies side by side, make this page with --return-policies.",
          ),
        );
  return policies.length === 0 ? null : returnPart(...policies.map((comparison) => block(run, comparison)));
}

function returnPart(...matter: readonly HTMLElement[]): HTMLElement {
  return part("return", "When the leader comes back", ...matter);
}

type Played = PolicyOutcome & { readonly outcome: Outcome };

function block(run: Run, comparison: PolicyComparison): HTMLElement {
  const { plan } = run;
  const apart = namesApart(run);
  const [first = "", ...more] = adviceSentences(plan, comparison);
  const played = comparison.policies.filter((each): each is Played => each.outcome !== null);
  return h(
    "div",
    { class: "policies" },
    h("p", {}, apart(comparisonSentences(plan, comparison).join(" "))),
    h(
      "div",
      { class: "fix" },
      h("p", {}, h("strong", {}, apart(first))),
      ...more.map((text) => h("p", {}, apart(text))),
    ),
    played.length === 0 ? null : outcomes(run, comparison, played),
    changes(run, comparison),
  );
}

function outcomes(run: Run, comparison: PolicyComparison, played: readonly Played[]): HTMLElement {
  const { plan } = run;
  const apart = namesApart(run);
  const rows = heardAlike(run, played).map(({ who, heard }) => [apart(listed(who)), ...heard.map(pieces)]);
  const columns = played.map(({ policy, isAsFiled }) => ({
    head: `${capital(policyName(policy))}${isAsFiled ? " (in the file)" : ""}`,
  }));
  const harms =
    comparison.advice === null ? [] : [["Compared", ...played.map(({ policy }) => harm(comparison, policy))]];
  return foldedIfLong(
    rows.length,
    "listeners",
    table(
      "What each listener has of it, in the whole show",
      [{ head: "Policy" }, ...columns],
      [...harms, ...rows, ["On whose clock at the end", ...played.map((each) => apart(endSentence(plan, each)))]],
    ),
  );
}

/** Feeds of which the same is told under each policy stand in one row. */
function heardAlike(
  { plan }: Run,
  played: readonly Played[],
): readonly { readonly who: string[]; readonly heard: readonly (readonly HeardUnder[])[] }[] {
  const rows = new Map<string, { who: string[]; heard: readonly (readonly HeardUnder[])[] }>();
  for (const { id } of played[0]?.outcome.feeds ?? []) {
    const heard = played.map(({ outcome }) => heardUnder(outcome.feeds.find((feed) => feed.id === id)!, outcome.runs));
    const key = JSON.stringify(heard);
    const row = rows.get(key) ?? { who: [], heard };
    row.who.push(listener(feedOf(plan, id), plan.feeds).head);
    rows.set(key, row);
  }
  return [...rows.values()];
}

function harm({ advice }: PolicyComparison, policy: Policy): HTMLElement {
  const by = advice?.worse.find((one) => one.policy === policy)?.by;
  return by === undefined ? h("span", { class: "weight" }, "Least harm") : h("span", {}, `Worse, by ${by}`);
}

/** Signs of the lanes above; what has none is told in words alone. */
const SIGNS: Readonly<Record<HeardUnder["kind"], { readonly key: string; readonly look: StateLook } | null>> = {
  clean: { key: "feed-clean", look: FEED_LOOKS.clean },
  clicks: { key: "feed-slipping", look: FEED_LOOKS.slipping },
  dropout: { key: "mark-realigned", look: REALIGNED_LOOK },
  "device-down": { key: "feed-device-down", look: FEED_LOOKS["device-down"] },
  clock: { key: "feed-out-of-step", look: FEED_LOOKS["out-of-step"] },
  other: { key: "feed-link-down", look: FEED_LOOKS["link-down"] },
  level: null,
  doubt: null,
};

function pieces(heard: readonly HeardUnder[]): HTMLElement {
  return h(
    "ul",
    { class: "pieces" },
    ...heard.map(({ kind, text }) => {
      const sign = SIGNS[kind];
      if (sign === null) return h("li", { class: "beside" }, text);
      return h("li", { class: "piece" }, signIcon(sign.key, sign.look), h("span", {}, text));
    }),
  );
}

function changes(run: Run, { policies }: PolicyComparison): HTMLElement {
  const apart = namesApart(run);
  return h(
    "details",
    {},
    h("summary", {}, "What each policy changes"),
    h(
      "dl",
      {},
      ...policies.map((each, index) =>
        h(
          "div",
          {},
          h("dt", {}, capital(policyName(each.policy))),
          h(
            "dd",
            {},
            apart(changeSentence(each, policies[index - 1])),
            ...each.edits.map((edit) => h("code", {}, editText(edit))),
          ),
        ),
      ),
    ),
  );
}

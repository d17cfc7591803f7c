/** Survival limits in words. */
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { feedsInOrder } from "../tell/pieces.ts";
import { cableIn, capital, deviceHead, listed, listener, short } from "../tell/words.ts";
import type { Limit } from "./limits.ts";

/** "Cable foh-pa out: heard however short." */
export function limitWords(plan: Plan, { kind, on, unheardSeconds, heardSeconds, feeds }: Limit): string {
  const heard = feedsInOrder({ plan }).filter(({ id }) => feeds.includes(id));
  const who = heard.length === 0 ? "" : ` by ${listed(heard.map((feed) => listener(feed, plan.feeds).mid))}`;
  const limit = unheardSeconds === null ? null : short(unheardSeconds);
  switch (kind) {
    case "break": {
      const head = `${capital(cableIn(plan, on))} out`;
      if (limit === null) return `${head}: heard however short${who}.`;
      return heardSeconds === null
        ? `${head}: not heard, however long.`
        : `${head}: not heard up to ${limit}; heard${who} if longer.`;
    }
    case "contact": {
      const head = `${capital(cableIn(plan, on))} comes and goes, 20 ms out each time`;
      if (limit === null) return `${head}: heard however rarely${who}.`;
      return heardSeconds === null
        ? `${head}: not heard, however often.`
        : `${head}: not heard if it holds for ${limit} between; heard${who} if shorter.`;
    }
    case "reboot": {
      const head = `${deviceHead(deviceOf(plan, on))} reboots`;
      if (limit === null) return `${head}: heard however soon it is back${who}.`;
      return heardSeconds === null
        ? `${head}: not heard, however long it takes.`
        : `${head}: not heard up to ${limit}; heard${who} if longer.`;
    }
  }
}

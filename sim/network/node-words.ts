/** Why a port became what it is, in plain words. */
import type { DecidingField } from "../election/compare.ts";
import { decidingField } from "../election/compare.ts";
import type { DataSet } from "../election/train.ts";

const HAS: Readonly<Record<DecidingField, string>> = {
  priority1: "the better priority1",
  clockClass: "the better clock class",
  clockAccuracy: "the better accuracy",
  offsetScaledLogVariance: "the steadier clock",
  priority2: "the better priority2",
  leader: "the lower identity",
};

/** What one leader has over another. */
export function hasOver(who: string, data: DataSet, other: DataSet): string {
  const field = decidingField(data, other);
  return field === null ? `${who} is heard another way` : `${who} has ${HAS[field]}`;
}

export const WORDS = {
  begins: "as the show begins",
  off: "it is off, or starting",
  cableOut: "its cable is out",
  listens: "it listens before it leads",
  neverLeads: "it never leads",
  leadsItself: "it leads its network itself",
  followsNobody: "it follows nobody on its network",
  leaderless: "nobody leads its network",
  alone: "nobody else announces",
  announces: (who: string) => `${who} announces`,
  announcesNow: (sender: string, leader: string) =>
    sender === leader ? `${sender} announces itself now` : `${sender} announces ${leader} now`,
  otherWay: (who: string) => `the way over ${who} is the better one`,
  otherPath: "packets come another way now",
  passive: (leader: string) => `another way to ${leader} is the better one`,
  waits: (leader: string) => `it waits before it passes on the time of ${leader}`,
  passesOn: (leader: string) => `it passes on the time of ${leader}`,
  nobody: (seconds: number) => `nobody announced for ${inTenths(seconds)} s`,
  silent: (who: string, seconds: number) => `${who} announced nothing for ${inTenths(seconds)} s`,
  noSync: (who: string) => `no sync came from ${who}`,
  noSyncComes: (who: string) => `no sync comes from ${who}`,
} as const;

function inTenths(seconds: number): string {
  return String(Math.round(seconds * 10) / 10);
}

/** A profile's numbers in the engine's units, and what chance adds to them. */

import type { PtpProfileName } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import { stream } from "../../shared/random.ts";
import type { Ns } from "../../shared/time.ts";
import { nsFromSeconds } from "../../shared/time.ts";

export interface ElectionNumbers {
  readonly announceNs: Ns;
  readonly syncNs: Ns;
  /** From the last announcement until its leader counts as lost, what chance adds left out. */
  readonly receiptNs: Ns;
  /** At most this is added. */
  readonly receiptSpreadNs: Ns;
  readonly syncTimeoutNs: Ns;
  readonly qualifyCount: number;
  readonly qualifyWithinNs: Ns;
  readonly electsWithoutSync: boolean;
  readonly keepsOthers: boolean;
  readonly waitsToPassOn: boolean;
  readonly tracesPath: boolean;
}

export function electionNumbers(name: PtpProfileName): ElectionNumbers {
  const profile = ptpProfile(name);
  const announce = profile.announceSeconds.value;
  const sync = profile.syncSeconds.value;
  return {
    announceNs: nsFromSeconds(announce),
    syncNs: nsFromSeconds(sync),
    receiptNs: nsFromSeconds(announce * profile.receiptTimeoutCount.value),
    receiptSpreadNs: nsFromSeconds(announce * profile.receiptSpreadCount.value),
    syncTimeoutNs: nsFromSeconds(sync * profile.syncTimeoutCount.value),
    qualifyCount: profile.qualifyCount.value,
    qualifyWithinNs: nsFromSeconds(announce * profile.qualifyWithinCount.value),
    electsWithoutSync: profile.electsWithoutSync,
    keepsOthers: profile.keepsOthers,
    waitsToPassOn: profile.waitsToPassOn,
    tracesPath: profile.tracesPath,
  };
}

/** Whose chance it is: a node's, by its device and network. */
export interface Address {
  readonly seed: string;
  readonly device: string;
  readonly network: string;
}

/** An instant of the device's announcements, in the interval before the show begins: each device has its own. */
export function announcementBeforeStart(address: Address, announceNs: Ns): Ns {
  const phase = Math.floor(stream(address.seed, address.device, `announcing on ${address.network}`, 0)() * announceNs);
  return (phase - announceNs) as Ns;
}

/** How long a port waits after the announcement it heard at `lastNs`: a draw for each announcement. */
export function receiptTimeoutNs(numbers: ElectionNumbers, address: Address, port: number, lastNs: Ns): Ns {
  if (numbers.receiptSpreadNs === 0) return numbers.receiptNs;
  const purpose = `waiting on ${address.network}.${port}`;
  const draw = stream(address.seed, address.device, purpose, Math.floor(lastNs / numbers.announceNs))();
  return (numbers.receiptNs + Math.floor(draw * numbers.receiptSpreadNs)) as Ns;
}

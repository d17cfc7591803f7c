/** Both plans under their new names in one draft, with the cables that join them and what crosses over these. */
import type { Plan } from "../../shared/plan.ts";
import type { Company } from "./company.ts";
import type { Companies } from "./conflict.ts";
import { crossingFeeds, placeJoins } from "./crossing.ts";
import { fileOf } from "./file.ts";
import type { Join } from "./join.ts";
import { renamingFor } from "./names.ts";
import { networkOf } from "./settings-conflicts.ts";
import { suppliesApart } from "./shared-conflicts.ts";
import { type Twin, typesApart } from "./things.ts";
import { commonOf, type Draft, inOwnOrder, partOf, united } from "./union.ts";
import type { Joined } from "./ways.ts";

/** Everything under its new name in one draft, the joining cables and what crosses over them with it. */
export function bothIn({
  companies,
  joins,
  twins,
}: {
  readonly companies: Companies;
  readonly joins: readonly Join[];
  readonly twins: readonly Twin[];
}) {
  const order = inOwnOrder(companies);
  const common = commonOf(companies, twins);
  const typesOfTwo = new Set(typesApart(companies));
  const suppliesOfTwo = new Set(suppliesApart(companies));
  const renames = renamingFor(order, (kind, id) => {
    if (kind === "type") return typesOfTwo.has(id);
    if (kind === "supply") return suppliesOfTwo.has(id);
    return kind === "path" ? false : !common.isOne(kind, id);
  });
  const [first, second] = order;
  const parts = [partOf(first, second, renames[0], common), partOf(second, first, renames[1], common)];
  const named = (company: Company, device: string): string =>
    renames[order.indexOf(company)]?.get("device")?.get(device) ?? device;
  const owners = new Map<string, Company | null>();
  for (const company of order)
    for (const { id } of company.plan.devices) {
      const joinedId = named(company, id);
      owners.set(joinedId, owners.has(joinedId) ? null : company);
    }
  const title = `${companies[0].label} and ${companies[1].label}, joined`;
  const draft = united(parts, common, title);
  const network = uniteNetworks(draft, {
    joins,
    companies,
    order,
    renames: renames.map((each) => each.get("network")),
  });
  const placed = placeJoins(draft, joins, { typed: companies, order, named }, network);
  const bare = planFrom(draft);
  const crossings = crossingFeeds(
    bare,
    placed,
    (device) => owners.get(device) ?? first,
    new Set(draft.rig.feeds.map(({ id }) => String(id))),
  );
  draft.rig.feeds.push(...crossings.map(({ feed }) => feed));
  const joined: Joined = {
    draft,
    plan: planFrom(draft),
    joins: placed.map(({ id }) => id),
    order,
    named,
    ownName: (company, device) => company.plan.devices.find(({ id }) => named(company, id) === device)?.id ?? device,
    leadersOf: (company) => company.plan.leaders.map((id) => named(company, id)),
    leaderOf: (company) => (company.leader === null ? null : named(company, company.leader)),
    companyOf: (device) => owners.get(device) ?? null,
    network: network ?? twins.find(({ kind, isOne }) => kind === "network" && isOne)?.id ?? null,
  };
  return { joined, parts, common, crossings };
}

/** @throws with what is in the way: what blocks is asked about before */
export function planFrom(draft: Draft): Plan {
  const { plan, issues } = fileOf(draft);
  if (plan === null)
    throw new MergeRefused(issues.map(({ expected, received }) => `expected ${expected}, received ${received}`));
  return plan;
}

/** Both plans can be read, and together they make nothing that can. */
export class MergeRefused extends Error {
  readonly reasons: readonly string[];
  constructor(reasons: readonly string[]) {
    super(reasons.join("; "));
    this.name = "MergeRefused";
    this.reasons = reasons;
  }
}

/** Joining ethernet cables make one network of two; its name, or null where there is none. */
function uniteNetworks(
  draft: Draft,
  {
    joins,
    companies,
    order,
    renames,
  }: {
    readonly joins: readonly Join[];
    readonly companies: Companies;
    readonly order: Companies;
    readonly renames: readonly (ReadonlyMap<string, string> | undefined)[];
  },
): string | null {
  const join = joins.find(({ type }) => type === "ethernet");
  if (join === undefined) return null;
  const [here, there] = companies.map((company, side) => {
    const own = networkOf(company, (join.ends[side] as Join["ends"][number]).device);
    return own === undefined ? null : (renames[order.indexOf(company)]?.get(own) ?? own);
  });
  const [kept, gone] = order[0] === companies[0] ? [here, there] : [there, here];
  const name = kept ?? gone;
  if (name === null || name === undefined) {
    draft.rig.networks.push({ id: "joined-network" });
    return "joined-network";
  }
  if (gone !== null && gone !== undefined && gone !== name) {
    draft.rig.networks = draft.rig.networks.filter(({ id }) => id !== gone);
    for (const link of draft.rig.links) if (link.network === gone) link.network = name;
  }
  return name;
}

/** What can be done to the plan itself from its map. Each returns why it could not, or null; what is done is one step back. */
import type { NewCable } from "../room/cable-edits.ts";
import type { NewDevice } from "../room/rig-edits.ts";

export type Thing = "device" | "link";

export interface RigActions {
  /** @param to its id, and of a device its name */
  rename(kind: Thing, id: string, to: { readonly id: string; readonly name?: string }): string | null;
  /** What it listens to from the beginning: port numbers and "internal". */
  setSources(device: string, sources: readonly string[]): string | null;
  /** What would go along, in a sentence or two; empty: nothing. */
  goesWith(kind: Thing, id: string): string;
  remove(kind: Thing, id: string): string | null;
  /** @param spareOf a link that it is to stand in for. Null where the texts do not have the two. */
  proposed(one: string, other: string, spareOf?: string): NewCable | null;
  join(cable: NewCable): string | null;
  /** A device with its first cable. */
  add(device: NewDevice, cable: NewCable): string | null;
  /** The cable that would join a new device, and an id for this. */
  proposedFor(name: string, kind: string, joinedTo: string): { readonly id: string; readonly cable: NewCable } | null;
}

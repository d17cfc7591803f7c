/** Power of one device, event by event: its own switch, and its supplies, of which any one suffices. */
import type { DevicePlan, EventDeed } from "./plan.ts";

export class DevicePower {
  private readonly device: Pick<DevicePlan, "id" | "power">;
  private readonly dead = new Set<string>();
  private isSwitchedOn: boolean;

  constructor(device: Pick<DevicePlan, "id" | "power" | "atStart">) {
    this.device = device;
    this.isSwitchedOn = device.atStart === "on";
  }

  get isOn(): boolean {
    return this.isSwitchedOn && this.device.power.some((supply) => !this.dead.has(supply));
  }

  /** To be told every event in order; those that are not about power change nothing. */
  play(deed: EventDeed): void {
    if (deed.do === "battery-empty") this.dead.add(deed.supply);
    if (deed.do !== "power-cut" && deed.do !== "power-back") return;
    const isBack = deed.do === "power-back";
    if (deed.device === this.device.id) this.isSwitchedOn = isBack;
    if (deed.supply === null) return;
    if (isBack) this.dead.delete(deed.supply);
    else if (deed.do === "power-cut" && deed.batterySeconds === undefined) this.dead.add(deed.supply);
  }
}

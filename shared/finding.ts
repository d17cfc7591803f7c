/** What a plan check or a run has to say about a rig. One shape for `check`, `rehearse` and the page. */
export interface Finding {
  /** A name of its own for each rule: "no-leader". */
  readonly rule: string;
  readonly severity: "error" | "warning" | "advice";
  /** Ids of the devices and links it is about. */
  readonly devices: readonly string[];
  readonly links: readonly string[];
  /** Path in the scenario, as written in JSON: ["rig", "devices", 2, "clockSources"]. */
  readonly path: readonly (string | number)[];
  /** One sentence: what is wrong, in the words of the trade. */
  readonly what: string;
  readonly why: string;
  /** What would be seen or heard on site. */
  readonly see: string;
  /** What to do. */
  readonly remedy: string;
}

/** One that somebody has looked at and accepts. It counts nowhere, and is always listed with its reason. */
export interface AcceptedFinding extends Finding {
  readonly reason: string;
}

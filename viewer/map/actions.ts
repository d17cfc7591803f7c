/** What can be done to a rig from its map; whoever gives these adds an event at that instant and plays the run again. */
export interface MapActions {
  /** `end`: at which end the plug comes out; null: of what has no plug to be pulled at one end alone. */
  pull(link: string, end: "a" | "b" | null, atSeconds: number): void;
  plug(link: string, atSeconds: number): void;
  reboot(device: string, part: "surface" | "engine" | "all", atSeconds: number): void;
  power(device: string, on: boolean, atSeconds: number): void;
  /** As `clockSources` writes them: port numbers and "internal". */
  setSources(device: string, sources: readonly string[], atSeconds: number): void;
  /** Everything that is laid along a path. */
  cut(path: string, atSeconds: number): void;
}

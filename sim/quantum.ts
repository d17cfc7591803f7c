/** How exactly a run is told: the quantum, and the shares of it that several approximations may use. */

/** Part of a sample period that an announcement may be off by. */
export const DEFAULT_QUANTUM_SAMPLES = 1e-4;

/** Share of the quantum that the pieces of a bending oscillator may use. */
export const PIECE_SHARE = 0.125;

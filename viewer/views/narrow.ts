/** The width at which the style sheet stacks the cells of tables: a phone held upright. */
export const NARROW = matchMedia("(max-width: 48rem)");

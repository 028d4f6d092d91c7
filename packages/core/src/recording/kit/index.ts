/** Read signals for tests and tables: what a drive would give of cells, with faults of a chosen size. */
export { Random } from "./random.ts";
export { type ReadFaults, simulateRead } from "./simulate.ts";

import firstTry from "../../../../demo/first-try/bench.yaml?text";
import mended from "../../../../demo/mended/bench.yaml?text";
import secondMachine from "../../../../demo/second-machine/bench.yaml?text";

/** The demo's bench files as they stand, comments and all. */
export const DEMO_BENCHES = { "first-try": firstTry, mended, "second-machine": secondMachine } as const;

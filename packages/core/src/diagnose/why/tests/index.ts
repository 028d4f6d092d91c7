import type { Test } from "../types.ts";
import { boardTests } from "./board.ts";
import { diskTests } from "./disk.ts";
import type { TestKit } from "./kit.ts";
import { lineTests } from "./line.ts";
import { lookTests } from "./look.ts";
import { partTests } from "./parts.ts";
import { supplyTests } from "./supply.ts";

/**
 * Every test that this bench allows, in the order of a checklist: looking first, then from the supply along the chain,
 * single parts last.
 */
export const testsOf = (kit: TestKit): Test[] => [
  ...lookTests(kit),
  ...supplyTests(kit),
  ...boardTests(kit),
  ...lineTests(kit),
  ...diskTests(kit),
  ...partTests(kit),
];

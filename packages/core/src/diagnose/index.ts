export { BACKGROUNDS, elementText, MARCHES, marchOf, marchText, parseMarch, RETENTION } from "./march/march.ts";
export type {
  Direction,
  Finding,
  March,
  MarchElement,
  MarchOperation,
  Place,
  Space,
  Stretch,
  Test,
  TestKind,
  TestProgram,
  Voice,
} from "./types.ts";

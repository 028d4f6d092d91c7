// What the tests of the command and of the page run against: the built command and the demo's images.
import { ensureCommand, ensureDemo } from "./ensure.mjs";

export default function setup() {
  ensureCommand();
  ensureDemo();
}

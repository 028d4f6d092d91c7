import chipsCpu from "./data/chips-cpu.yaml";
import chipsIo from "./data/chips-io.yaml";
import chipsLogic from "./data/chips-logic.yaml";
import chipsMemory from "./data/chips-memory.yaml";
import connectors from "./data/connectors.yaml";
import drives from "./data/drives.yaml";
import levels from "./data/levels.yaml";
import media from "./data/media.yaml";
import recordings from "./data/recordings.yaml";
import sources from "./data/sources.yaml";
import terminals from "./data/terminals.yaml";
import type { CatalogueData } from "./raw.ts";

/**
 * The built-in catalogue as written, by file. It is trusted at run time, so that a command starts quickly; the tests hold
 * every file against the schema.
 */
export const BUILTIN = {
  sources,
  "chips-logic": chipsLogic,
  "chips-memory": chipsMemory,
  "chips-cpu": chipsCpu,
  "chips-io": chipsIo,
  drives,
  media,
  recordings,
  connectors,
  terminals,
  levels,
} as Readonly<Record<string, CatalogueData>>;

import { benchJsonSchema } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import type { Verb } from "./verb.ts";

export const verb: Verb = {
  usage: "[bench|report]",
  help: [
    "Prints a JSON Schema: of the bench file, which gives an editor completion and hover texts, or of the report.",
    "Editors that know YAML take it from a first line in bench.yaml: # yaml-language-server: $schema=bench.schema.json",
  ],
  options: {},
  examples: [["rouse schema > bench.schema.json", "for your editor"]],
  async run({ positionals }, out) {
    const [which = "bench"] = positionals;
    if (which === "bench") out.line(JSON.stringify(benchJsonSchema(), null, 2));
    else if (which === "report") {
      const { reportJsonSchema } = await import("@rouse/core/fit/report-schema");
      out.line(JSON.stringify(reportJsonSchema(), null, 2));
    } else throw new InputError("no-such-schema", `There is no schema of “${which}”; there is bench and report.`);
    return 0;
  },
};

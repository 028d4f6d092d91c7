import { InputError } from "@rouse/core/errors";
import { listPorts } from "../devices/line/index.ts";
import { columns } from "./text.ts";
import type { Verb } from "./verb.ts";

export const verb: Verb = {
  usage: "",
  help: ["Lists the serial ports of this computer, with what each adapter says of itself."],
  options: { json: { type: "boolean", about: "print for machines" } },
  examples: [["rouse ports", "which ports there are"]],
  async run({ positionals, values }, out) {
    if (positionals.length > 0)
      throw new InputError("no-argument", "`rouse ports` works on nothing; it lists all ports.");
    const ports = await listPorts();
    if (values.json) out.line(JSON.stringify({ format: "rouse-ports", version: 1, ports }, null, 2));
    else if (ports.length === 0) out.line("There is no serial port here; is the adapter plugged in?");
    else
      for (const line of columns(
        ports.map(({ path, about, serial }) => [path, about, serial ? `number ${serial}` : ""]),
      ))
        out.line(line);
    return 0;
  },
};

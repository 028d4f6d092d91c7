import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { verifyBagFolder } from "../store/index.ts";
import type { Verb } from "./verb.ts";

export const verb: Verb = {
  usage: "BAG",
  help: ["Verifies a bag: everything listed is there, nothing else is, and every checksum agrees (RFC 8493)."],
  options: { json: { type: "boolean", about: "print the faults for machines" } },
  examples: [["rouse verify /tmp/larkfield-bag", "is the record still what it was?"]],
  async run({ positionals, values }, out) {
    const [bag, extra] = positionals;
    if (bag === undefined || extra !== undefined) throw new InputError("one-bag", "Name one bag: rouse verify BAG.");
    const faults = await verifyBagFolder(bag);
    if (values.json) out.line(JSON.stringify(faults, null, 2));
    else if (faults.length === 0) out.line(`● ${bag} is complete, and every checksum agrees.`);
    else for (const { path, sentence } of faults) out.line(`■ ${visible(path)}: ${visible(sentence)}`);
    return faults.length === 0 ? 0 : 1;
  },
};

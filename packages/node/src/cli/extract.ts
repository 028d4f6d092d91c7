import { CODES, type CodeName, decodeText, type LineEnd } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { isText } from "@rouse/core/system";
import { parseAddress, resolveAddress } from "@rouse/core/volume";
import { extractTo, readImage } from "../store/index.ts";
import type { Verb } from "./verb.ts";

const ENDS: readonly LineEnd[] = ["lf", "crlf", "cr"];

export const verb: Verb = {
  usage: "IMAGE[:PATH] FOLDER",
  help: [
    "Copies the files of an image, or those under one path, into a folder.",
    "Bytes are kept as they are unless --text asks for readable text. Names that this computer can't hold are written in",
    "percent form, from which the stored name can be had back. Nothing is written outside FOLDER, whatever a name says,",
    "and no file is written over without --replace.",
  ],
  options: {
    text: { type: "string", value: "END", about: "convert text files, ending lines with lf, crlf or cr" },
    code: {
      type: "string",
      value: "CODE",
      about: `character code of text: ${CODES.map((each) => each.name).join(", ")}`,
    },
    deleted: { type: "boolean", about: "also what can still be read of deleted files" },
    replace: { type: "boolean", about: "write over files that are there" },
    json: { type: "boolean", about: "print what was written for machines" },
  },
  examples: [["rouse extract demo/mended/images/tern.img /tmp/tern --text lf", "all files, text made readable"]],
  async run({ positionals, values }, out) {
    const [target, folder, extra] = positionals;
    if (target === undefined || folder === undefined || extra !== undefined)
      throw new InputError("two-names", "Name an image and a folder: rouse extract IMAGE FOLDER.");
    const { image, parts } = parseAddress(target);
    const end = values.text === undefined ? undefined : ENDS.find((each) => each === values.text);
    if (values.text !== undefined && !end)
      throw new InputError("no-such-end", `Lines can end with ${ENDS.join(", ")}, not “${values.text}”.`);
    const code = CODES.find((each) => each.name.toLowerCase() === String(values.code ?? "plain").toLowerCase())?.name as
      | CodeName
      | undefined;
    if (!code)
      throw new InputError(
        "no-such-code",
        `There is no character code “${values.code}”; there is ${CODES.map((each) => each.name).join(", ")}.`,
      );
    const { bytes } = await readImage(image);
    const { volume, entry } = resolveAddress(bytes, parts);
    if (!volume) throw new InputError("no-volume", "There are no files there, only bytes.");
    const wanted = volume.entries.filter(
      (each) =>
        each.type === "file" &&
        (!each.deleted || values.deleted === true) &&
        (!entry || each === entry || (entry.type === "folder" && each.path.startsWith(`${entry.path}/`))),
    );
    let hurt = 0;
    const files = wanted.map((each) => {
      const content = volume.read(each);
      if (content.condition !== "whole") {
        hurt++;
        process.stderr.write(`rouse: ${each.path} is ${content.condition}; what could not be read is zeros\n`);
      }
      const converted =
        end && isText(content.bytes)
          ? new TextEncoder().encode(decodeText(content.bytes, code, { eol: end }))
          : content.bytes;
      return { path: each.path, nameParts: each.path.split("/"), bytes: converted };
    });
    const written = await extractTo(folder, files, { replace: values.replace === true });
    if (values.json) out.line(JSON.stringify(written, null, 2));
    else {
      for (const each of written) out.line(`${each.path}${each.hostPath === each.path ? "" : ` → ${each.hostPath}`}`);
      out.line(`${written.length} files written to ${folder}${hurt > 0 ? `, ${hurt} of them not whole` : ""}.`);
    }
    return 0;
  },
};

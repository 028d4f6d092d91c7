import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { loadCatalogue } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import {
  KIND_NAMES,
  makeFormatNamed,
  makeFormats,
  makeImage,
  NO_SIDE,
  openBest,
  readSide,
  type Side,
} from "@rouse/core/volume";
import { readImage, readTree, writeNew } from "../store/index.ts";
import { columns } from "./text.ts";
import type { Verb } from "./verb.ts";

/** The side file that was named, or the one beside the folder: `tree.yaml` beside `tree/`. */
async function sideOf(named: string | undefined, folder: string): Promise<{ side: Side; file?: string }> {
  const usual = [`${folder.replace(/\/+$/, "")}.yaml`, `${folder.replace(/\/+$/, "")}.yml`].find((each) =>
    existsSync(each),
  );
  const file = named ?? usual;
  if (file === undefined) return { side: NO_SIDE };
  const text = new TextDecoder().decode((await readImage(file, 1 << 20)).bytes);
  const { parse } = await import("yaml");
  let data: unknown;
  try {
    data = parse(text, { version: "1.2" });
  } catch (error) {
    if (!(error instanceof Error) || error.name !== "YAMLParseError") throw error;
    throw new InputError("bad-side", `${file}: not YAML: ${error.message.split("\n")[0]}`);
  }
  return { side: readSide(data, file), file };
}

export const verb: Verb = {
  usage: "TREE IMAGE --like FORMAT",
  help: [
    "Makes a disk image from a folder: one of four kinds of volume on any recording that can carry it.",
    "What a folder cannot say (label, attributes, dates, record files, boot block) comes from a side file: TREE.yaml beside",
    "the folder, or --side. The image is opened again and every file compared before it is written. IMAGE must not be",
    "there yet.",
  ],
  options: {
    like: { type: "string", value: "FORMAT", about: "what to make: fat12-720k, segment-list-zoned-77-two-side" },
    side: { type: "string", value: "FILE", about: "the side file (docs/making-images.md)" },
    list: { type: "boolean", about: "list the formats that can be made" },
    json: { type: "boolean", about: "print what was made, or the list, for machines" },
  },
  examples: [
    ["rouse make --list", "every kind of volume on every recording that can carry it"],
    ["rouse make games games.img --like fat12-720k", "the folder games as a 720 K disk"],
  ],
  async run({ positionals, values }, out) {
    const formats = makeFormats(loadCatalogue());
    if (values.list) {
      if (values.json)
        out.line(
          JSON.stringify(
            formats.map(({ id, kind, title, bytes }) => ({ id, kind, title, bytes })),
            null,
            2,
          ),
        );
      else
        for (const line of columns(formats.map((each) => [each.id, formatNumber(each.bytes, 9), each.title])))
          out.line(line);
      return 0;
    }
    const [folder, target, extra] = positionals;
    if (folder === undefined || target === undefined || extra !== undefined)
      throw new InputError("two-names", "Name a folder and the image to make: rouse make TREE IMAGE --like FORMAT.");
    if (typeof values.like !== "string")
      throw new InputError("no-format", "Say what to make with --like FORMAT; `rouse make --list` lists the formats.");
    const format = makeFormatNamed(formats, values.like);
    const { side, file } = await sideOf(typeof values.side === "string" ? values.side : undefined, folder);
    const boot = side.boot === undefined ? undefined : (await readImage(join(dirname(file!), side.boot))).bytes;
    const tree = await readTree(folder);
    const image = makeImage(format, tree, side, boot);
    const { volume } = openBest(image, { kind: format.kind });
    const files = volume.entries.filter((each) => each.type === "file");
    const wanted = tree.filter((each) => each.type === "file");
    const same = wanted.filter(({ path, bytes }) => {
      const entry = files.find((each) => each.path.toLowerCase() === path.toLowerCase());
      const found = entry && volume.read(entry).bytes;
      return found !== undefined && bytes.every((byte, i) => found[i] === byte);
    });
    if (volume.damages.length > 0 || same.length !== wanted.length)
      throw new InputError(
        "not-read-back",
        `The image was not written: ${volume.damages[0]?.sentence ?? `only ${same.length} of ${wanted.length} files could be read back from it as they are.`}`,
      );
    await writeNew(target, image);
    if (values.json)
      out.line(
        JSON.stringify(
          {
            image: target,
            format: format.id,
            kind: format.kind,
            bytes: image.length,
            files: wanted.map((each) => each.path),
            freeBlocks: volume.freeBlocks,
          },
          null,
          2,
        ),
      );
    else
      out.line(
        `${target} is made: ${KIND_NAMES[format.kind]}, ${volume.format}; ${formatNumber(wanted.length)} ${wanted.length === 1 ? "file" : "files"}, ${volume.freeBlocks === null ? "free blocks not known" : `${formatNumber(volume.freeBlocks)} blocks free`}. All were read back and are the same.`,
      );
    return 0;
  },
};

import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { mapBlocks } from "@rouse/core/geometry";
import { buildModule } from "@rouse/core/system";
import { buildChainedBlock, buildFat12, buildSegmentList, openBest, type TreeEntry } from "@rouse/core/volume";

const ascii = (text: string): Uint8Array => Uint8Array.from(text, (each) => each.charCodeAt(0));
const file = (path: string, bytes: Uint8Array | string, wishes: TreeEntry["wishes"] = {}): TreeEntry => ({
  path,
  type: "file",
  bytes: typeof bytes === "string" ? ascii(bytes) : bytes,
  wishes,
});
const code = (name: string, type: number, length: number): Uint8Array =>
  buildModule({ name, type, edition: 3, storage: 256, body: new Uint8Array(length).fill(0x12) });
const together = (...parts: readonly Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((each) => [...each]));

/** A name of 28 characters that would be an element, and would colour a terminal, if anyone took it as such. */
export const HOSTILE = "<img src=x onerror=hurt()>\x1b[";
const PLACEHOLDER = "placeholder.of.28.characters";

/** A segment-list volume with a system's modules, an account file, deleted and nested files, and a hostile name. */
function systemImage(): Uint8Array {
  const inner = buildFat12([file("README.TXT", "A volume inside a file.\r\n"), file("DATA.BIN", "x".repeat(5000))], {
    format: "160K",
    label: "INNER",
  });
  const broken = code("Broken", 1, 200);
  broken[60] = 0xff;
  const image = buildSegmentList(
    [
      file("boot", together(code("Kernel", 0xc, 3000), code("Files", 0xd, 900), code("Serial", 0xe, 500))),
      file("startup", "* good morning\r\nsetime\r\ntsmon /term\r\n"),
      file("sys/accounts", "guest,,1,128,.,.,shell\r\n"),
      file("cmds/shell", code("shell", 1, 1200)),
      file("cmds/broken", broken),
      file("notes", "An open day.\r\nThe login comes up after a minute.\r\n".repeat(40)),
      file("inner.img", inner),
      file("gone", "once here", { deleted: true }),
      file(PLACEHOLDER, "<script>hurt()</script>\r\n\x1b[31mred\r\n"),
    ],
    { tracks: 80, sides: 2, sectors: 18, firstTrackSectors: 10, name: "open day", bootstrap: "boot" },
  );
  return rename(image, PLACEHOLDER, HOSTILE);
}

/** Puts other bytes in place of a stored name, whose last character carries bit 7. */
function rename(image: Uint8Array, from: string, to: string): Uint8Array {
  const stored = (text: string): Uint8Array => {
    const bytes = ascii(text);
    bytes[bytes.length - 1]! |= 0x80;
    return bytes;
  };
  const [before, after] = [stored(from), stored(to)];
  for (let at = 0; at + before.length <= image.length; at++)
    if (before.every((byte, index) => image[at + index] === byte)) image.set(after, at);
  return image;
}

/** A zoned volume of two sides with two files, one of whose chains runs into the other's. */
function zonedImage(): Uint8Array {
  const image = buildChainedBlock(
    [file("letters", "Dear visitor. ".repeat(3000)), file("log", "line\r".repeat(4000)), file("small", "ok")],
    { layout: "77-track-two-sided", name: "MUSEUM", id: "01" },
  );
  const { volume } = openBest(image);
  const { offset } = mapBlocks(volume.geometry);
  const [letters, log] = ["letters", "log"].map(
    (name) => volume.entries.find(({ path }) => path.startsWith(name))!.blocks,
  );
  // The link of a block is its first two bytes.
  image.set(image.subarray(offset(letters![40]!), offset(letters![40]!) + 2), offset(log![10]!));
  return image;
}

/** Puts both into a job's `images/`, beside what is there. */
export async function addImages(folder: string): Promise<void> {
  await mkdir(join(folder, "images"), { recursive: true });
  await writeFile(join(folder, "images", "system.img"), systemImage());
  await writeFile(join(folder, "images", "zoned.img"), zonedImage());
}

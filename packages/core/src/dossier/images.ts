import type { Bench, Origin } from "../bench/index.ts";
import type { HashedImage } from "../runbook/index.ts";
import type { JobFile, Provenance, SurveyRecord } from "./types.ts";

const said = ({ from, received, permission, licence }: Origin = {}) => ({
  from: from ?? null,
  received: received ?? null,
  permission: permission ?? null,
  licence: licence ?? null,
});

const holdsOf = (image: HashedImage | undefined): string => {
  if (image?.problem !== undefined) return image.problem;
  const { volume } = image ?? {};
  return volume
    ? `${volume.format}${volume.label ? `, “${volume.label}”` : ""}, ${volume.condition}`
    : "not recognised";
};

const plainPath = (file: string): string => file.replace(/^(\.\/)+/, "");

/** Where each image of a disk and of a ROM came from. A ROM that two regions share in one file stands there once. */
export function provenanceOf(
  bench: Bench,
  images: readonly HashedImage[],
  files: readonly JobFile[],
): readonly Provenance[] {
  const disks = bench.images.map((each): Provenance => {
    const found = images.find(({ name }) => name === each.name);
    return {
      kind: "disk",
      name: each.name,
      file: each.file,
      size: found?.size ?? null,
      sha256: found?.sha256 ?? null,
      holds: holdsOf(found),
      ...said(each.origin),
      key: each.path,
    };
  });
  const roms = new Map<string, Provenance>();
  for (const { file, name, path, origin } of bench.computer?.regions ?? []) {
    if (file === undefined) continue;
    const known = roms.get(plainPath(file));
    const found = files.find((each) => each.path === plainPath(file));
    const now = said(origin);
    roms.set(plainPath(file), {
      kind: "ROM",
      name: known ? `${known.name}, ${name}` : name,
      file,
      size: found?.bytes.length ?? null,
      sha256: found?.sha256 ?? null,
      holds: found ? `what ${known ? `${known.name}, ${name}` : name} holds` : "the file is not there",
      from: known?.from ?? now.from,
      received: known?.received ?? now.received,
      permission: known?.permission ?? now.permission,
      licence: known?.licence ?? now.licence,
      key: known?.key ?? path,
    });
  }
  return [...disks, ...roms.values()];
}

/** What each image holds, file by file. */
export const surveysOf = (images: readonly HashedImage[]): SurveyRecord[] =>
  images.flatMap(({ name, volume }) =>
    volume
      ? [
          {
            image: name,
            format: volume.format,
            label: volume.label,
            condition: volume.condition,
            facts: volume.facts,
            entries: volume.entries.map(({ path, type, kind, size, condition, deleted }) => ({
              path,
              kind: type === "folder" ? "folder" : kind,
              size,
              condition,
              deleted,
            })),
            damages: volume.damages.map((each) => each.sentence),
          },
        ]
      : [],
  );

/** What to say before an audience: the script's own words, then of each image whose it is and who let it be shown. */
export function creditsOf(images: readonly Provenance[], own: readonly string[]): string[] {
  const byWords = new Map<string, string[]>();
  for (const { name, kind, from, permission, licence } of images) {
    const words = [
      ...(from === null ? [] : [from]),
      ...(permission === null ? [] : [`permission: ${permission}`]),
      ...(licence === null ? [] : [`licence: ${licence}`]),
    ].join("; ");
    if (words !== "") byWords.set(words, [...(byWords.get(words) ?? []), `${name} (${kind})`]);
  }
  return [...own, ...[...byWords].map(([words, names]) => `${names.join(", ")}: ${words}.`)];
}

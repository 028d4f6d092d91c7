import type { Recording } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { mapBlocks } from "@rouse/core/geometry";
import { useEffect, useMemo, useState } from "react";
import { askBytes, imagePath, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { counted } from "../../parts/words.ts";
import { Budget } from "./budget.tsx";
import { layTrack, type Track } from "./track-model.ts";
import { TrackPicture } from "./track-picture.tsx";
import type { DiskChoices } from "./types.ts";

/** Where a track's bytes lie in an image. */
function bytesOfTrack({ geometry }: Recording, track: number, side: 0 | 1): { offset: number; length: number } {
  const map = mapBlocks(geometry);
  const first = map.block({ track, side, sector: 0 });
  const zone = geometry.zones.find(
    (each) => track >= each.from && track <= each.to && (each.side === undefined || each.side === side),
  );
  return { offset: map.offset(first), length: (zone?.sectors ?? 0) * (zone?.size ?? 0) };
}

/** A track of an image, or of a recording by itself, with its picture and its budget. */
export function OneTrack({
  recording,
  file,
  track,
  side,
  onBench,
}: {
  recording: Recording;
  file: string | null;
  track: number;
  side: 0 | 1;
  onBench: DiskChoices["images"][number] | undefined;
}) {
  const { imagesChange } = useJob();
  const [read, setRead] = useState<{ of: string; bytes: Uint8Array } | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const of = `${file} ${recording.id} ${track} ${side}`;
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when a file in images/ changed
  useEffect(() => {
    setProblem(null);
    if (file === null) return;
    let left = false;
    const { offset, length } = bytesOfTrack(recording, track, side);
    const query = new URLSearchParams({ offset: String(offset), length: String(length) });
    askBytes(`${imagePath(file)}/bytes?${query}`).then(
      (bytes) => !left && setRead({ of, bytes }),
      (error: unknown) => !left && setProblem(sentenceOf(error)),
    );
    return () => {
      left = true;
    };
  }, [file, recording, track, side, imagesChange]);

  const data = file === null ? null : read?.of === of ? read.bytes : undefined;
  const rotation = onBench?.rotation ?? null;
  const interleave = onBench?.interleave ?? 1;
  const laid = useMemo((): Track | string | undefined => {
    if (data === undefined) return undefined;
    try {
      return layTrack({ recording, track, side, interleave, rotation }, data);
    } catch (error) {
      return error instanceof InputError ? error.message : "This track cannot be laid out.";
    }
  }, [recording, track, side, interleave, rotation, data]);
  return (
    <>
      <section className="panel" aria-labelledby="track-title">
        <h2 id="track-title">
          Track {track + recording.geometry.firstTrack}, side {side}
        </h2>
        {problem && <Problem sentence={problem} />}
        {laid === undefined && !problem && <Loading what="Reading the track…" />}
        {typeof laid === "string" && <Problem sentence={laid} />}
        {typeof laid === "object" && (
          <>
            <p className="lead">
              {laid.form.code}, {counted(laid.form.sectors, "sector")} of {laid.form.size} bytes
              {interleave > 1 && `, interleave ${interleave}`};{" "}
              {file === null ? "its sectors are shown filled with zeros" : `the data are those of ${file}`}.
            </p>
            <TrackPicture key={of} track={laid} />
          </>
        )}
      </section>
      {typeof laid === "object" && <Budget track={laid} drive={onBench?.drive ?? null} />}
    </>
  );
}

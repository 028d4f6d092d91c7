import type { Recording } from "@rouse/core/catalogue";
import { mapBlocks } from "@rouse/core/geometry";
import { useEffect, useMemo, useState } from "react";
import { go, routeTo, useRoute } from "../../app/route.ts";
import { ask, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { CaptureSection } from "./capture.tsx";
import { OneTrack } from "./one-track.tsx";
import type { DiskChoices } from "./types.ts";
import "../../parts/forms.css";
import "./track.css";

export default function DiskPage() {
  const { saved, imagesChange } = useJob();
  const [choices, setChoices] = useState<DiskChoices | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const hash = saved?.hash;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file or an image changed
  useEffect(() => {
    let left = false;
    ask<DiskChoices>("disk").then(
      (found) => {
        if (left) return;
        setChoices(found);
        setProblem(null);
      },
      (error: unknown) => !left && setProblem(sentenceOf(error)),
    );
    return () => {
      left = true;
    };
  }, [hash, imagesChange]);
  return (
    <div className="page-stack">
      <h1>Disk</h1>
      {problem && <Problem sentence={problem} />}
      {!choices && !problem && <Loading what="Looking at the disks…" />}
      {choices && <Chosen choices={choices} />}
    </div>
  );
}

/** A whole number from 0 to `most`, whatever was typed. */
const whole = (text: string | null, most: number): number => {
  const value = Math.round(Number(text));
  return Number.isFinite(value) ? Math.min(most, Math.max(0, value)) : 0;
};

/** The choice stands in the address: `#/disk/tern.img?recording=…&track=3&side=1`; `alone` where there is no image. */
function Chosen({ choices }: { choices: DiskChoices }) {
  const { parts, query } = useRoute();
  const files = useJob().images ?? [];
  const usual = choices.images.find(({ recording }) => recording !== null)?.file;
  const wished = query.has("alone") ? undefined : (parts[1] ?? usual);
  const file = files.find(({ name, problem }) => name === wished && !problem);
  const onBench = choices.images.find((each) => each.file === file?.name);
  const matching = useMemo(
    () => choices.recordings.filter((each) => each.layout && (!file || mapBlocks(each.geometry).bytes === file.size)),
    [choices, file],
  );
  const asked = query.get("recording") ?? onBench?.recording;
  const recording = matching.find(({ id }) => id === asked) ?? matching[0];
  const track = whole(query.get("track"), (recording?.geometry.tracks ?? 1) - 1);
  const side = query.get("side") === "1" && recording?.geometry.sides === 2 ? 1 : 0;
  const chosen = useMemo(() => ({ recording: recording?.id ?? "", track, side }) as const, [recording, track, side]);

  const goTo = (next: { file?: string | null; recording?: string; track?: number; side?: number }): void => {
    const image = next.file === undefined ? (file?.name ?? null) : next.file;
    const address = {
      recording: next.file === undefined ? (next.recording ?? query.get("recording") ?? undefined) : undefined,
      track: String(next.track ?? track),
      side: String(next.side ?? side),
    };
    go(image === null ? routeTo(["disk"], { alone: "yes", ...address }) : routeTo(["disk", image], address), "replace");
  };

  return (
    <>
      <div className="panel">
        <div className="fields">
          <label className="field">
            <span>Image</span>
            <select value={file?.name ?? ""} onChange={(event) => goTo({ file: event.target.value || null })}>
              <option value="">none: a recording by itself</option>
              {files.map(({ name, problem }) => (
                <option key={name} value={name} disabled={problem !== undefined}>
                  {name}
                </option>
              ))}
            </select>
          </label>
          <label className="field">
            <span>Recording</span>
            <select value={recording?.id ?? ""} onChange={(event) => goTo({ recording: event.target.value })}>
              {!recording && <option value="">none has this size</option>}
              {matching.map(({ id, title }) => (
                <option key={id} value={id}>
                  {title}
                </option>
              ))}
            </select>
          </label>
          {recording && (
            <PlaceFields
              geometry={recording.geometry}
              track={track}
              side={side}
              onTrack={(each) => goTo({ track: each })}
              onSide={(each) => goTo({ side: each })}
            />
          )}
        </div>
      </div>
      {recording ? (
        <OneTrack recording={recording} file={file?.name ?? null} track={track} side={side} onBench={onBench} />
      ) : (
        <Problem
          sentence={`No recording of the catalogue holds just the ${(file?.size ?? 0).toLocaleString("en-GB")} bytes of this image.`}
        />
      )}
      <CaptureSection recordings={choices.recordings} chosen={chosen} />
    </>
  );
}

function PlaceFields({
  geometry,
  track,
  side,
  onTrack,
  onSide,
}: {
  geometry: Recording["geometry"];
  track: number;
  side: 0 | 1;
  onTrack: (track: number) => void;
  onSide: (side: number) => void;
}) {
  const first = geometry.firstTrack;
  const last = first + geometry.tracks - 1;
  return (
    <>
      <label className="field">
        <span>
          Track, {first} to {last}
        </span>
        <input
          type="number"
          min={first}
          max={last}
          value={track + first}
          onChange={(event) => onTrack(whole(String(Number(event.target.value) - first), geometry.tracks - 1))}
        />
      </label>
      <label className="field">
        <span>Side</span>
        <select value={side} onChange={(event) => onSide(Number(event.target.value))} disabled={geometry.sides === 1}>
          <option value={0}>0</option>
          {geometry.sides === 2 && <option value={1}>1</option>}
        </select>
      </label>
    </>
  );
}

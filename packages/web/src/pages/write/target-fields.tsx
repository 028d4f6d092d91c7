import { bytesInWords, listed } from "../../parts/words.ts";
import type { Targets } from "./types.ts";
import { commandInWords } from "./words.ts";

export interface ChosenTarget {
  device: string | undefined;
  writer: string | undefined;
  /** Name that was typed; the target where neither of the others is. */
  file: string;
}

/** The three kinds of target: a drive, an adapter of the bench file, a file. */
export function TargetFields({
  targets: { devices, writers },
  chosen,
  onChoose,
  onList,
}: {
  targets: Targets;
  chosen: ChosenTarget;
  onChoose: (target: ChosenTarget) => void;
  onList: () => void;
}) {
  const { device, writer, file } = chosen;
  const isFile = device === undefined && writer === undefined;
  return (
    <fieldset className="targets">
      <legend>Target</legend>
      {devices.map(({ path, size, model, mounted }) => (
        <label key={path} className="tick">
          <input
            type="radio"
            name="target"
            checked={device === path}
            onChange={() => onChoose({ device: path, writer: undefined, file })}
          />
          <span>
            <strong>{path}</strong>{" "}
            <span className="quiet">
              {[model, size === 0 ? "no disk in it" : bytesInWords(size)].filter(Boolean).join(", ")}
              {mounted.length > 0 && `; in use at ${listed(mounted)}, to be unmounted first`}
            </span>
          </span>
        </label>
      ))}
      {devices.length === 0 && (
        <p className="quiet">No drive that can be taken out is connected, and no loop is set up.</p>
      )}
      {writers.map(({ name, command, readsBack, problem }) => (
        <label key={name} className="tick">
          <input
            type="radio"
            name="target"
            checked={writer === name}
            disabled={problem !== null}
            onChange={() => onChoose({ device: undefined, writer: name, file })}
          />
          <span>
            <strong>{name}</strong>{" "}
            <span className="quiet">
              adapter of the bench file, calls {commandInWords(command)}
              {!readsBack && "; it cannot read back, so nothing is saved or verified"}
              {problem && `. ${problem}`}
            </span>
          </span>
        </label>
      ))}
      <div className="target-file">
        <label className="tick">
          <input
            type="radio"
            name="target"
            checked={isFile}
            onChange={() => onChoose({ device: undefined, writer: undefined, file })}
          />
          <span>A file in the job folder</span>
        </label>
        <label className="field">
          <span className="sr-only">Name of the file</span>
          <input
            value={file}
            placeholder="copy.img"
            onChange={(event) => onChoose({ device: undefined, writer: undefined, file: event.target.value })}
            spellCheck={false}
            autoComplete="off"
          />
        </label>
      </div>
      <button type="button" className="button is-quiet" onClick={onList}>
        Look for drives again
      </button>
    </fieldset>
  );
}

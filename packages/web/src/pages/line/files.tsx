import { type FormEvent, useEffect, useState } from "react";
import { ask, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { bytesInWords, counted } from "../../parts/words.ts";
import { act } from "./act.ts";
import { type PaceWish, paceAsked } from "./pace.ts";
import { PaceFields } from "./pace-fields.tsx";
import type { BenchEnd, Settings, Work } from "./types.ts";
import { TransferEnd } from "./work-view.tsx";

const PROTOCOLS = [
  ["xmodem-crc", "XMODEM-CRC"],
  ["xmodem", "XMODEM, checksum"],
  ["xmodem-1k", "XMODEM-1K"],
  ["ymodem", "YMODEM batch"],
  ["text", "plain text, at a pace"],
] as const;
type ProtocolName = (typeof PROTOCOLS)[number][0];

interface SendFile {
  name: string;
  base64: string;
  /** Seconds since 1970. */
  modified: number;
}

/** Files as the server takes them (RFC 4648, section 4). */
const readFile = (file: File): Promise<SendFile> =>
  new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onerror = () => reject(reader.error);
    reader.onload = () =>
      resolve({
        name: file.name,
        base64: String(reader.result).replace(/^data:[^,]*,/, ""),
        modified: Math.floor(file.lastModified / 1000),
      });
    reader.readAsDataURL(file);
  });

/** The server takes six million characters at once. */
const MOST = 4_000_000;

interface FilesProps {
  port: string;
  settings: Settings | undefined;
  isReady: boolean;
  work: Work | null;
  pace: PaceWish;
  onPace: (pace: PaceWish) => void;
  ends: readonly BenchEnd[];
  onProblem: (sentence: string | null) => void;
}

function ProtocolField({ value, onChange }: { value: ProtocolName; onChange: (name: ProtocolName) => void }) {
  return (
    <label className="field">
      <span>Protocol</span>
      <select value={value} onChange={(event) => onChange(event.target.value as ProtocolName)}>
        {PROTOCOLS.map(([name, words]) => (
          <option key={name} value={name}>
            {words}
          </option>
        ))}
      </select>
    </label>
  );
}

export function Files(props: FilesProps) {
  return (
    <div className="line-files">
      <Send {...props} />
      <Receive {...props} />
    </div>
  );
}

function Send({ port, settings, isReady, work, pace, onPace, ends, onProblem }: FilesProps) {
  const images = (useJob().images ?? []).filter(({ problem }) => !problem);
  const [protocol, setProtocol] = useState<ProtocolName>("xmodem-crc");
  const [image, setImage] = useState("");
  const [chosen, setChosen] = useState<readonly File[]>([]);
  const isDone = work?.kind === "send" && work.state !== "running" ? work : null;
  const arrived = isDone?.transfer?.arrived ?? 0;
  // A batch goes on with the files that have not arrived.
  const rest =
    isDone && isDone.state !== "done" && isDone.transfer?.protocol === "ymodem" && arrived > 0
      ? chosen.slice(arrived)
      : [];

  const send = async (files: readonly File[]): Promise<void> => {
    onProblem(null);
    try {
      if (files.reduce((sum, { size }) => sum + size, 0) > MOST) {
        onProblem(`That is more than ${counted(MOST, "byte")} at once; send fewer files, or use rouse send.`);
        return;
      }
      const whole = image === "" ? await Promise.all(files.map(readFile)) : [{ image }];
      await act("send", { port, protocol, files: whole, ...paceAsked(pace) });
    } catch (error) {
      onProblem(sentenceOf(error));
    }
  };
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    void send(chosen);
  };
  return (
    <form className="line-tool" onSubmit={submit} aria-labelledby="line-send">
      <h3 id="line-send">Send</h3>
      <div className="fields">
        <ProtocolField value={protocol} onChange={setProtocol} />
        <label className="field">
          <span>{protocol === "ymodem" ? "Files of this computer" : "A file of this computer"}</span>
          <input
            type="file"
            multiple={protocol === "ymodem"}
            onChange={(event) => {
              setChosen([...(event.target.files ?? [])]);
              setImage("");
            }}
          />
        </label>
        <label className="field">
          <span>Or an image of the job</span>
          <select value={image} onChange={(event) => setImage(event.target.value)}>
            <option value="">none</option>
            {images.map(({ name, size }) => (
              <option key={name} value={name}>
                {name}, {bytesInWords(size)}
              </option>
            ))}
          </select>
        </label>
      </div>
      {protocol === "text" && <PaceFields pace={pace} onPace={onPace} ends={ends} settings={settings} />}
      <div className="buttons">
        <button type="submit" className="button" disabled={!isReady || (image === "" && chosen.length === 0)}>
          Send
        </button>
        {rest.length > 0 && (
          <button
            type="button"
            className="button is-quiet"
            disabled={!isReady}
            onClick={() => {
              setChosen(rest);
              void send(rest);
            }}
          >
            Go on with the {counted(rest.length, "file")} that did not arrive
          </button>
        )}
      </div>
      <p className="quiet">
        {protocol === "text"
          ? "Nothing is checked: a lost character stays lost."
          : "Start the receiving program at the other end first."}
      </p>
      {isDone && <TransferEnd work={isDone} />}
    </form>
  );
}

function Receive({ port, isReady, work, onProblem }: FilesProps) {
  const [protocol, setProtocol] = useState<ProtocolName>("xmodem-crc");
  const [name, setName] = useState("received.bin");
  const [trims, setTrims] = useState(false);
  const [adds, setAdds] = useState(false);
  const [quiet, setQuiet] = useState("5");
  const [there, setThere] = useState<readonly { name: string; size: number }[]>([]);
  const isDone = work?.kind === "receive" && work.state !== "running" ? work : null;
  const savedCount = work?.transfer?.saved.length ?? 0;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when a file has come
  useEffect(() => {
    ask<readonly { name: string; size: number }[]>("line/received").then(setThere, () => {});
  }, [savedCount, work?.id]);
  const isThere = there.some((each) => each.name === name.trim());
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    onProblem(null);
    const asked = {
      port,
      protocol,
      name,
      trim: trims,
      quiet: Math.max(100, (Number(quiet) || 5) * 1000),
      resume: protocol === "text" && adds && isThere,
    };
    act("receive", asked).catch((error: unknown) => onProblem(sentenceOf(error)));
  };
  return (
    <form className="line-tool" onSubmit={submit} aria-labelledby="line-receive">
      <h3 id="line-receive">Receive</h3>
      <div className="fields">
        <ProtocolField value={protocol} onChange={setProtocol} />
        {protocol !== "ymodem" && (
          <label className="field">
            <span>Save as</span>
            <input
              value={name}
              onChange={(event) => setName(event.target.value)}
              spellCheck={false}
              autoComplete="off"
            />
          </label>
        )}
        {protocol === "text" && (
          <label className="field">
            <span>Ends after so much silence, s</span>
            <input value={quiet} onChange={(event) => setQuiet(event.target.value)} inputMode="decimal" />
          </label>
        )}
      </div>
      {protocol.startsWith("xmodem") && (
        <label className="tick">
          <input type="checkbox" checked={trims} onChange={(event) => setTrims(event.target.checked)} />
          <span>Take the filling (SUB) off the end: for text</span>
        </label>
      )}
      {protocol === "text" && isThere && (
        <label className="tick">
          <input type="checkbox" checked={adds} onChange={(event) => setAdds(event.target.checked)} />
          <span>Go on where {name.trim()} ended</span>
        </label>
      )}
      <button type="submit" className="button" disabled={!isReady || (protocol !== "ymodem" && name.trim() === "")}>
        Receive
      </button>
      <p className="quiet">
        Files go into received/ in the job folder. Nothing is written over: a name that is taken gets a number.
      </p>
      {isDone && <TransferEnd work={isDone} />}
      {there.length > 0 && (
        <ul className="line-received" aria-label="Received files">
          {there.map((each) => (
            <li key={each.name}>
              <a href={`/api/line/received/${encodeURIComponent(each.name)}`} download={each.name}>
                {each.name}
              </a>{" "}
              <span className="quiet">{bytesInWords(each.size)}</span>
            </li>
          ))}
        </ul>
      )}
    </form>
  );
}

import { type FormEvent, useState } from "react";
import { sentenceOf } from "../../job/api.ts";
import { Problem } from "../../parts/states.tsx";
import { act } from "./act.ts";
import type { BenchLines, ListedPort, Seat, Settings } from "./types.ts";

const FRAMES = ["8N1", "7E1", "7O1", "7N2", "8E1", "8O1", "8N2", "7N1", "7E2", "7O2", "5N1.5", "6N1"] as const;
const FLOWS: readonly (readonly [Settings["flow"], string])[] = [
  ["none", "none"],
  ["lines", "by lines (RTS, CTS)"],
  ["characters", "by characters (DC1, DC3)"],
];
const OTHER = "";

/** Rate and frame fields, for a session and for tests. */
export function RateField({
  value,
  rates,
  onChange,
  label = "Rate, bit/s",
}: {
  value: string;
  rates: readonly number[];
  onChange: (text: string) => void;
  label?: string;
}) {
  return (
    <label className="field">
      <span>{label}</span>
      <input
        value={value}
        onChange={(event) => onChange(event.target.value)}
        inputMode="decimal"
        list="line-rates"
        autoComplete="off"
      />
      <datalist id="line-rates">
        {rates.map((rate) => (
          <option key={rate} value={rate} />
        ))}
      </datalist>
    </label>
  );
}

export function FrameField({ value, onChange }: { value: string; onChange: (frame: string) => void }) {
  const frames = FRAMES.some((each) => each === value) ? FRAMES : [value, ...FRAMES];
  return (
    <label className="field">
      <span>Data bits, parity, stop bits</span>
      <select value={value} onChange={(event) => onChange(event.target.value)}>
        {frames.map((each) => (
          <option key={each}>{each}</option>
        ))}
      </select>
    </label>
  );
}

/** A rate as people write it; not a number where it is none. */
export const readRate = (text: string): number => Number(text.replace(/[,\s]/g, "") || Number.NaN);

/** Which port, and how it is set. */
export function Choose({
  ports,
  rates,
  seats,
  bench,
  port,
  onPort,
  onLook,
}: {
  ports: readonly ListedPort[];
  rates: readonly number[];
  seats: readonly Seat[];
  bench: BenchLines | null;
  port: string;
  onPort: (port: string) => void;
  /** Asks again which ports there are. */
  onLook: () => void;
}) {
  const used = seats.find((each) => each.port === port)?.settings;
  const suggested = bench?.ends.find(({ rate }) => rate !== null);
  const [own, setOwn] = useState<Partial<Settings & { text: string }>>({});
  const [captures, setCaptures] = useState(true);
  const [problem, setProblem] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const first: Settings = used ?? {
    rate: suggested?.rate ?? 9600,
    frame: suggested?.frame ?? "8N1",
    flow: suggested?.flow ?? "none",
  };
  const text = own.text ?? String(first.rate);
  const frame = own.frame ?? first.frame;
  const flow = own.flow ?? first.flow;
  const isListed = ports.some(({ path }) => path === port);
  const others = seats.filter((each) => !ports.some(({ path }) => path === each.port)).map((each) => each.port);

  const submit = (event: FormEvent): void => {
    event.preventDefault();
    setBusy(true);
    setProblem(null);
    act("open", { port, rate: readRate(text), frame, flow, capture: captures })
      .catch((error: unknown) => setProblem(sentenceOf(error)))
      .finally(() => setBusy(false));
  };
  return (
    <form className="panel" onSubmit={submit} aria-labelledby="line-choose">
      <h2 id="line-choose">Which port</h2>
      <p className="quiet">
        Before anything is plugged in, measure the idle transmit line: V.28 stands at −3 to −15 V and destroys a 5 V
        input. Plug cables with both ends switched off.
      </p>
      <fieldset className="line-ports">
        <legend>Port of this computer</legend>
        {ports.map(({ path, about, serial }) => (
          <label key={path} className="tick">
            <input type="radio" name="port" checked={port === path} onChange={() => onPort(path)} />
            <span>
              <strong>{path}</strong> <span className="quiet">{[about, serial].filter(Boolean).join(", ")}</span>
            </span>
          </label>
        ))}
        {ports.length === 0 && <p className="quiet">No serial port was found. Is the adapter plugged in?</p>}
        <label className="field line-other">
          <span>{ports.length === 0 ? "Its path" : "Or another, by its path"}</span>
          <input
            value={isListed ? OTHER : port}
            placeholder="/dev/ttyUSB0"
            onChange={(event) => onPort(event.target.value)}
            spellCheck={false}
            autoComplete="off"
            list="line-others"
          />
          <datalist id="line-others">
            {others.map((each) => (
              <option key={each} value={each} />
            ))}
          </datalist>
        </label>
        <button type="button" className="button is-quiet" onClick={onLook}>
          Look again
        </button>
      </fieldset>
      <div className="fields">
        {bench && bench.ends.length > 0 && (
          <label className="field">
            <span>As the bench has it</span>
            <select
              value=""
              onChange={(event) => {
                const end = bench.ends.find(({ name }) => name === event.target.value);
                if (end)
                  setOwn({
                    ...(end.rate ? { text: String(end.rate) } : {}),
                    frame: end.frame ?? "8N1",
                    flow: end.flow,
                  });
              }}
            >
              <option value="">take over the settings of…</option>
              {bench.ends.map(({ name, kind, rate, frame }) => (
                <option key={name} value={name}>
                  {name} ({kind}):{" "}
                  {[rate ? `${rate.toLocaleString("en-GB")} bit/s` : "no rate", frame].filter(Boolean).join(", ")}
                </option>
              ))}
            </select>
          </label>
        )}
        <RateField value={text} rates={rates} onChange={(next) => setOwn({ ...own, text: next })} />
        <FrameField value={frame} onChange={(next) => setOwn({ ...own, frame: next })} />
        <label className="field">
          <span>Flow control</span>
          <select value={flow} onChange={(event) => setOwn({ ...own, flow: event.target.value as Settings["flow"] })}>
            {FLOWS.map(([value, words]) => (
              <option key={value} value={value}>
                {words}
              </option>
            ))}
          </select>
        </label>
      </div>
      <label className="tick">
        <input type="checkbox" checked={captures} onChange={(event) => setCaptures(event.target.checked)} />
        <span>Keep every byte of both directions, with its time, in captures/</span>
      </label>
      {problem && <Problem sentence={problem} />}
      <button type="submit" className="button" disabled={isBusy || port.trim() === "" || !(readRate(text) > 0)}>
        {isBusy ? "Opening…" : "Open the port"}
      </button>
    </form>
  );
}

import { type FormEvent, useState } from "react";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { hexOf } from "../../parts/words.ts";
import { machine } from "./machine.ts";
import type { Frame } from "./types.ts";

/** An address as people write it: $E000, 0xE000, E000h or E000; undefined where it is none. */
function addressOf(text: string): number | undefined {
  const digits = /^(?:\$|0x)?([0-9a-f]{1,4})h?$/i.exec(text.trim())?.[1];
  return digits === undefined ? undefined : Number.parseInt(digits, 16);
}

const hex = (value: number, bits: number): string =>
  value
    .toString(16)
    .toUpperCase()
    .padStart(Math.ceil(bits / 4), "0");

export function Registers({ state }: { state: Frame["state"] }) {
  return (
    <dl className="registers" data-testid="registers">
      {state.registers.map(({ name, bits, value, flags }) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>
            {hex(value, bits)}
            {flags !== undefined && (
              <span className="flags">
                {[...flags].map((letter, index) => {
                  const isSet = ((value >> (flags.length - 1 - index)) & 1) === 1;
                  return (
                    // biome-ignore lint/suspicious/noArrayIndexKey: flags keep their places
                    <span key={index} className={isSet ? "is-set" : ""} aria-hidden="true">
                      {isSet ? letter : "·"}
                    </span>
                  );
                })}
                <span className="sr-only">
                  {" "}
                  set: {[...flags].filter((_, index) => (value >> (flags.length - 1 - index)) & 1).join(" ") || "none"}
                </span>
              </span>
            )}
          </dd>
        </div>
      ))}
    </dl>
  );
}

const toggled = (at: number, breakpoints: readonly number[]): number[] =>
  breakpoints.includes(at) ? breakpoints.filter((each) => each !== at) : [...breakpoints, at];

/** What is run next; before each line the machine can be made to stop. */
export function Code({ frame, breakpoints }: { frame: Frame; breakpoints: readonly number[] }) {
  const { code = [], state } = frame;
  const isPaused = frame.pause !== null;
  const stop = (at: number): void => machine.ask({ kind: "breakpoints", at: toggled(at, breakpoints) });
  return (
    <>
      <ol className={isPaused ? "code" : "code is-running"} aria-label="Instructions from here on" data-testid="code">
        {code.map(({ address, bytes, text }) => {
          const isNext = address === state.next.address;
          return (
            <li
              key={address}
              className={isNext && isPaused ? "is-next" : ""}
              aria-current={isNext && isPaused ? "step" : undefined}
            >
              <button
                type="button"
                className="code-stop"
                aria-pressed={breakpoints.includes(address)}
                aria-label={`Stop before ${hexOf(address)}`}
                title="Stop before this instruction"
                onClick={() => stop(address)}
              />
              <code className="code-at">{hexOf(address).slice(1)}</code>
              <code className="code-bytes">{bytes.map((each) => hex(each, 8)).join(" ")}</code>
              <code>{text}</code>
            </li>
          );
        })}
      </ol>
      <Breakpoints breakpoints={breakpoints} onToggle={stop} />
    </>
  );
}

function Breakpoints({ breakpoints, onToggle }: { breakpoints: readonly number[]; onToggle: (at: number) => void }) {
  const [text, setText] = useState("");
  const address = addressOf(text);
  const add = (event: FormEvent): void => {
    event.preventDefault();
    if (address === undefined) return;
    if (!breakpoints.includes(address)) onToggle(address);
    setText("");
  };
  return (
    <form className="inline-form" onSubmit={add}>
      <label className="field">
        <span>Stop before the instruction at</span>
        <input
          value={text}
          onChange={(event) => setText(event.target.value)}
          placeholder="$E000"
          size={8}
          spellCheck={false}
        />
      </label>
      <button type="submit" className="button is-quiet" disabled={address === undefined}>
        Add
      </button>
      {breakpoints.length > 0 && (
        <ul className="chips-list" aria-label="Where it stops">
          {[...breakpoints]
            .sort((a, b) => a - b)
            .map((at) => (
              <li key={at}>
                <button
                  type="button"
                  className="button is-quiet"
                  onClick={() => onToggle(at)}
                  aria-label={`No longer stop before ${hexOf(at)}`}
                >
                  {hexOf(at)} ×
                </button>
              </li>
            ))}
        </ul>
      )}
    </form>
  );
}

const ROW = 16;
const shownAs = (byte: number | null): string =>
  byte === null || byte < 0x20 || byte > 0x7e ? "·" : String.fromCharCode(byte);

/** Bytes of memory as the CPU sees them; devices are not touched. */
export function MemoryBytes({ memory }: { memory: Frame["memory"] }) {
  const [text, setText] = useState("");
  const address = addressOf(text);
  const look = (event: FormEvent): void => {
    event.preventDefault();
    if (address !== undefined) machine.ask({ kind: "look", at: address });
  };
  return (
    <>
      <form className="inline-form" onSubmit={look}>
        <label className="field">
          <span>Memory from</span>
          <input
            value={text}
            onChange={(event) => setText(event.target.value)}
            placeholder="$1000"
            size={8}
            spellCheck={false}
          />
        </label>
        <button type="submit" className="button is-quiet" disabled={address === undefined}>
          Look
        </button>
      </form>
      {memory && (
        <ScrollX name={`Memory from ${hexOf(memory.at)}`}>
          <pre className="bytes-shown">
            {Array.from({ length: memory.bytes.length / ROW }, (_, row) => {
              const bytes = memory.bytes.slice(row * ROW, row * ROW + ROW);
              const at = hexOf((memory.at + row * ROW) & 0xffff).slice(1);
              return `${at}  ${bytes.map((each) => (each === null ? "--" : hex(each, 8))).join(" ")}  ${bytes.map(shownAs).join("")}\n`;
            }).join("")}
          </pre>
        </ScrollX>
      )}
    </>
  );
}

import { CODES, type Code, type KeyHabits } from "./codes.ts";
import type { Habits } from "./habits.ts";
import type { BenchScreen } from "./types.ts";

/** The size of the screen, by the bench's terminal or as it is wished. */
export interface ScreenSize {
  name: string;
  columns: number;
  rows: number;
}

const OTHER_SIZES: readonly ScreenSize[] = [
  { name: "80 columns, 24 rows", columns: 80, rows: 24 },
  { name: "132 columns, 24 rows", columns: 132, rows: 24 },
  { name: "64 columns, 16 rows", columns: 64, rows: 16 },
  { name: "40 columns, 25 rows", columns: 40, rows: 25 },
  { name: "32 columns, 16 rows", columns: 32, rows: 16 },
];

export const sizesOf = (screens: readonly BenchScreen[]): readonly ScreenSize[] => [
  ...screens.map(({ name, columns, rows }) => ({ name: `${name}: ${columns} columns, ${rows} rows`, columns, rows })),
  ...OTHER_SIZES,
];

/** How the screen shows bytes, and what keys send. */
export function KeysPanel({
  habits,
  onHabits,
  sizes,
  size,
  onSize,
}: {
  habits: Habits;
  onHabits: (change: Partial<Habits>) => void;
  sizes: readonly ScreenSize[];
  size: ScreenSize;
  onSize: (name: string) => void;
}) {
  return (
    <div className="line-tool">
      <div className="fields">
        <label className="field">
          <span>Screen</span>
          <select value={size.name} onChange={(event) => onSize(event.target.value)}>
            {sizes.map(({ name }) => (
              <option key={name}>{name}</option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>Bytes are characters of</span>
          <select value={habits.code} onChange={(event) => onHabits({ code: event.target.value as Code })}>
            {CODES.map(([code, words]) => (
              <option key={code} value={code}>
                {words}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>Backspace sends</span>
          <select
            value={habits.erase}
            onChange={(event) => onHabits({ erase: event.target.value as KeyHabits["erase"] })}
          >
            <option>BS</option>
            <option>DEL</option>
          </select>
        </label>
        <label className="field">
          <span>Enter sends</span>
          <select
            value={habits.enter}
            onChange={(event) => onHabits({ enter: event.target.value as KeyHabits["enter"] })}
          >
            <option>CR</option>
            <option>CR LF</option>
            <option>LF</option>
          </select>
        </label>
      </div>
      <label className="tick">
        <input
          type="checkbox"
          checked={habits.capitals}
          onChange={(event) => onHabits({ capitals: event.target.checked })}
        />
        <span>Letters are typed as capitals</span>
      </label>
      <label className="tick">
        <input
          type="checkbox"
          checked={habits.spoken}
          onChange={(event) => onHabits({ spoken: event.target.checked })}
        />
        <span>For a screen reader: lines of the screen as a list, and what comes is spoken</span>
      </label>
      <p className="quiet">
        This screen is the one that programs are written for. What a terminal of smaller ability makes of the same
        session, and which functions it lacks, <code>rouse terminal</code> tells from its capture.
      </p>
    </div>
  );
}

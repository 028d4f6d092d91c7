import { MARCHES, marchText, OVERS, type Over } from "@rouse/core/diagnose";
import { InputError } from "@rouse/core/errors";
import { parseAddress } from "@rouse/core/quantity";
import { type FormEvent, useState } from "react";
import type { Choices, Wish } from "./types.ts";

/** Tests that are no march, each with what it looks for. */
const OTHERS: readonly (readonly [id: string, title: string, about: string])[] = [
  ["address", "Address lines", "each line by itself: stuck, open, shorted to another"],
  ["banks", "Banks", "is every bank behind the window there once, or is one seen twice"],
  ["latches", "Latches", "does every bit of a latch hold"],
  ["translation", "Translation", "is every physical block there once, do the maps hold"],
  ["retention", "Retention", "does memory hold for a while what was written"],
  ["rom", "ROM sums", "against the images in the job folder"],
  ["timer", "Timers and interrupts", "do they come, and as often as they should"],
  ["port", "Port, transmitting", "a known pattern, to be looked at"],
  ["loop", "Port, loopback", "all rates, with the plug that joins TxD to RxD"],
];
const USUAL = ["march-c-", "address", "banks", "latches", "translation", "retention", "rom", "timer", "port"];
const OVER_WORDS: Readonly<Record<Over, string>> = {
  main: "main memory",
  banks: "the banks behind the window",
  translation: "every block through the translation board",
};
const EPROMS = [1, 2, 4, 8, 16, 32];

export const usualWish = (): Wish => ({ tests: USUAL, over: OVERS, place: "eprom" });

/** What is tested, where, and where the program runs. */
export function Choose({
  choices,
  wish,
  isBusy,
  onWish,
  onMake,
}: {
  choices: Choices;
  wish: Wish;
  isBusy: boolean;
  onWish: (wish: Wish) => void;
  onMake: () => void;
}) {
  const [at, setAt] = useState("");
  const [wrong, setWrong] = useState<string | null>(null);
  const march = wish.tests.find((each) => MARCHES.some(({ id }) => id === each)) ?? "";
  const order = (tests: readonly string[]): string[] =>
    [...MARCHES.map(({ id }) => id), ...OTHERS.map(([id]) => id)].filter((id) => tests.includes(id));
  const tick = (id: string, on: boolean): void =>
    onWish({ ...wish, tests: order(on ? [...wish.tests, id] : wish.tests.filter((each) => each !== id)) });
  const make = (event: FormEvent): void => {
    event.preventDefault();
    onMake();
  };
  const chooseAt = (text: string): void => {
    setAt(text);
    const { at: _, ...rest } = wish;
    try {
      onWish(text.trim() === "" ? rest : { ...rest, at: parseAddress(text) });
      setWrong(null);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      onWish(rest);
      setWrong(error.message);
    }
  };
  const overs = OVERS.filter(
    (each) => each === "main" || (each === "banks" ? choices.hasWindow : choices.hasTranslation),
  );
  return (
    <form className="panel" aria-labelledby="choose-title" onSubmit={make}>
      <h2 id="choose-title">What is tested</h2>
      <div className="fields">
        <label className="field">
          <span>March</span>
          <select
            value={march}
            onChange={(event) =>
              onWish({
                ...wish,
                tests: order([...wish.tests.filter((each) => each !== march), ...[event.target.value].filter(Boolean)]),
              })
            }
          >
            <option value="">none</option>
            {MARCHES.map(({ id, title }) => (
              <option key={id} value={id}>
                {title}
              </option>
            ))}
          </select>
        </label>
        {march && (
          <p className="d-notation">
            <span className="sr-only">Its elements: </span>
            {marchText(MARCHES.find(({ id }) => id === march)?.elements ?? [])}
          </p>
        )}
      </div>
      <fieldset className="d-ticks">
        <legend>Other tests</legend>
        {OTHERS.map(([id, title, about]) => (
          <label key={id} className="tick">
            <input
              type="checkbox"
              checked={wish.tests.includes(id)}
              onChange={(event) => tick(id, event.target.checked)}
            />
            <span>
              {title} <span className="quiet">{about}</span>
            </span>
          </label>
        ))}
      </fieldset>
      {overs.length > 1 && (
        <fieldset className="d-ticks">
          <legend>Marches and retention go over</legend>
          {overs.map((each) => (
            <label key={each} className="tick">
              <input
                type="checkbox"
                checked={wish.over.includes(each)}
                onChange={(event) =>
                  onWish({
                    ...wish,
                    over: OVERS.filter((other) => (other === each ? event.target.checked : wish.over.includes(other))),
                  })
                }
              />
              <span>{OVER_WORDS[each]}</span>
            </label>
          ))}
        </fieldset>
      )}
      <fieldset className="d-ticks">
        <legend>The program runs</legend>
        <label className="tick">
          <input
            type="radio"
            name="place"
            checked={wish.place === "eprom"}
            onChange={() => onWish({ ...wish, place: "eprom" })}
          />
          <span>
            in an EPROM in the monitor's place{" "}
            <span className="quiet">it needs no memory to begin with: the reset starts it</span>
          </span>
        </label>
        <label className="tick">
          <input
            type="radio"
            name="place"
            checked={wish.place === "memory"}
            onChange={() => onWish({ ...wish, place: "memory" })}
          />
          <span>
            in memory <span className="quiet">loaded or typed in with the monitor; where it lies is not tested</span>
          </span>
        </label>
      </fieldset>
      <div className="fields">
        {wish.place === "eprom" ? (
          <label className="field">
            <span>Size of the EPROM</span>
            <select
              value={wish.eprom ?? ""}
              onChange={(event) => {
                const { eprom: _, ...rest } = wish;
                onWish(event.target.value === "" ? rest : { ...rest, eprom: Number(event.target.value) });
              }}
            >
              <option value="">as the ROM on the bench</option>
              {EPROMS.map((size) => (
                <option key={size} value={size * 1024}>
                  {size} KiB
                </option>
              ))}
            </select>
          </label>
        ) : (
          <label className="field">
            <span>From address</span>
            <input
              value={at}
              placeholder="where there is room"
              onChange={(event) => chooseAt(event.target.value)}
              spellCheck={false}
              maxLength={8}
            />
          </label>
        )}
        {choices.ports.length > 1 && (
          <label className="field">
            <span>It speaks through</span>
            <select
              value={wish.port ?? ""}
              onChange={(event) => {
                const { port: _, ...rest } = wish;
                onWish(event.target.value === "" ? rest : { ...rest, port: event.target.value });
              }}
            >
              <option value="">the show's port</option>
              {choices.ports.map((name) => (
                <option key={name} value={name}>
                  {name}
                </option>
              ))}
            </select>
          </label>
        )}
        {wish.tests.includes("retention") && (
          <label className="field">
            <span>Memory has to hold for</span>
            <strong>{wish.seconds ?? 2} s</strong>
            <input
              type="range"
              min={1}
              max={60}
              value={wish.seconds ?? 2}
              aria-valuetext={`${wish.seconds ?? 2} s`}
              onChange={(event) => onWish({ ...wish, seconds: Number(event.target.value) })}
            />
          </label>
        )}
      </div>
      {wrong && <p role="alert">{wrong}</p>}
      <button type="submit" className="button" disabled={isBusy || wrong !== null}>
        Make the program
      </button>
    </form>
  );
}

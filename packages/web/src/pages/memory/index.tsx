import { InputError } from "@rouse/core/errors";
import { type MapState, MemoryMap, parseState, stateText, unpackMemory } from "@rouse/core/memory";
import { parseAddress } from "@rouse/core/quantity";
import { useEffect, useMemo, useState } from "react";
import { go, routeTo, useRoute } from "../../app/route.ts";
import { ask, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { hexOf } from "../../parts/words.ts";
import { Answered } from "./answered.tsx";
import { Findings } from "./findings.tsx";
import { Latches } from "./latches.tsx";
import { Picture } from "./picture.tsx";
import { Rooms } from "./rooms.tsx";
import type { MemoryTold } from "./types.ts";
import "../../parts/forms.css";
import "./memory.css";

/** The address of the page follows the choices when they have rested for so long; ms. */
const REST = 400;

export default function MemoryPage() {
  const { saved, imagesChange } = useJob();
  const [told, setTold] = useState<MemoryTold | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const hash = saved?.hash;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file or an image changed
  useEffect(() => {
    let left = false;
    ask<MemoryTold>("memory").then(
      (found) => {
        if (left) return;
        setTold(found);
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
      <h1>Memory</h1>
      {problem && <Problem sentence={problem} />}
      {!told && !problem && <Loading what="Looking at the bench…" />}
      {told && !problem && <Mapped told={told} />}
    </div>
  );
}

/** A state as the page's address has it; the one at power-on where that makes no sense. */
function stateFrom(text: string | null, map: MemoryMap): MapState {
  try {
    return parseState(text ?? "", map.powerOn, map.latches);
  } catch (error) {
    if (error instanceof InputError) return map.powerOn;
    throw error;
  }
}

function addressFrom(text: string | null): number {
  try {
    return parseAddress(text ?? "0") & 0xffff;
  } catch (error) {
    if (error instanceof InputError) return 0;
    throw error;
  }
}

function Mapped({ told }: { told: MemoryTold }) {
  const { query } = useRoute();
  const map = useMemo(() => new MemoryMap(unpackMemory(told.memory)), [told]);
  const [chosen, setChosen] = useState(() => addressFrom(query.get("at")));
  const [text, setText] = useState(() => query.get("state"));
  const [hovered, setHovered] = useState<number | undefined>();
  const [bit, setBit] = useState<number | undefined>();
  const [shown, setShown] = useState(false);
  // Kept as text, so that a state outlives a change of the bench file as far as it still makes sense.
  const state = useMemo(() => stateFrom(text, map), [text, map]);
  const isStart = stateText(state, map.powerOn) === stateText(map.powerOn, map.powerOn);

  useEffect(() => {
    const timer = setTimeout(
      () =>
        go(
          routeTo(["memory"], {
            ...(isStart ? {} : { state: stateText(state, map.powerOn) }),
            ...(chosen === 0 ? {} : { at: hexOf(chosen) }),
          }),
          "replace",
        ),
      REST,
    );
    return () => clearTimeout(timer);
  }, [state, isStart, chosen, map]);

  const goTo = (to: MapState, address?: number): void => {
    setText(stateText(to, map.powerOn));
    if (address !== undefined) setChosen(address);
  };
  const address = hovered ?? chosen;
  const placed = told.rooms.flatMap(({ room }) => room.placed);
  return (
    <div className="memory-columns">
      <section className="panel memory-main" aria-labelledby="picture-title">
        <h2 id="picture-title">What the CPU sees, and where it is</h2>
        <Picture
          map={map}
          state={state}
          address={address}
          chosen={chosen}
          bit={bit}
          placed={shown ? placed : []}
          onChoose={setChosen}
          onHover={setHovered}
        />
        {placed.length > 0 && (
          <label className="tick">
            <input type="checkbox" checked={shown} onChange={(event) => setShown(event.target.checked)} />
            <span>Show where the system would lie</span>
          </label>
        )}
      </section>
      <div className="memory-side">
        <Answered map={map} state={state} address={address} bit={bit} onBit={setBit} onChoose={setChosen} />
        <Latches map={map} state={state} isStart={isStart} onState={goTo} />
      </div>
      <div className="memory-halves">
        <Findings told={told} map={map} onShow={goTo} />
        <Rooms told={told} onShow={goTo} />
      </div>
    </div>
  );
}

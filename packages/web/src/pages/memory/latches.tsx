import { type MapState, type MemoryMap, withEntry } from "@rouse/core/memory";
import { formatValue } from "@rouse/core/quantity";
import { hexOf } from "../../parts/words.ts";

/** A slider for every latch, and with translation for every entry of the map. */
export function Latches({
  map,
  state,
  isStart,
  onState,
}: {
  map: MemoryMap;
  state: MapState;
  isStart: boolean;
  onState: (state: MapState) => void;
}) {
  const { translation: held } = state;
  if (map.latches.length === 0 && !held)
    return (
      <section className="panel" aria-labelledby="latches-title">
        <h2 id="latches-title">Latches</h2>
        <p className="quiet">No latch changes what this CPU sees.</p>
      </section>
    );
  return (
    <section className="panel" aria-labelledby="latches-title">
      <h2 id="latches-title">Latches</h2>
      <div className="fields">
        {map.latches.map(({ name, bits, at, port, readable, assumed, powerOn }) => {
          const value = state.latches[name] ?? 0;
          const where = at === undefined ? "" : port ? `port ${hexOf(at, 2)}` : hexOf(at);
          const how = [
            ...(where ? [where] : []),
            ...(readable === undefined ? [] : [readable ? "can be read back" : "write only"]),
            assumed ? "0 at power-on is taken, the bench does not say" : `${powerOn} at power-on`,
          ].join(", ");
          return (
            <label key={name} className="field">
              <span>{name}</span>
              <strong>{value}</strong>
              <input
                type="range"
                min={0}
                max={2 ** bits - 1}
                value={value}
                onChange={(event) =>
                  onState({ ...state, latches: { ...state.latches, [name]: Number(event.target.value) } })
                }
              />
              <small className="quiet">{how}</small>
            </label>
          );
        })}
      </div>
      {held && map.translation && <Entries map={map} state={state} onState={onState} />}
      <button type="button" className="button is-quiet" disabled={isStart} onClick={() => onState(map.powerOn)}>
        As at power-on
      </button>
    </section>
  );
}

function Entries({ map, state, onState }: { map: MemoryMap; state: MapState; onState: (state: MapState) => void }) {
  const board = map.translation!;
  const held = state.translation!;
  const set = (change: Partial<typeof held>): void => onState({ ...state, translation: { ...held, ...change } });
  const entries = held.maps[held.task] ?? [];
  // A block beyond the last one answers nothing; that can be tried, too.
  const most = Math.max(board.blocks, ...entries);
  return (
    <>
      <div className="fields">
        <label className="tick">
          <input type="checkbox" checked={held.on} onChange={(event) => set({ on: event.target.checked })} />
          <span>
            Translation is on <small className="quiet">({board.powerOn ? "on" : "off"} at power-on)</small>
          </span>
        </label>
        {board.tasks > 1 && (
          <label className="field">
            <span>Map that the CPU uses</span>
            <select
              value={held.task}
              disabled={!held.on}
              onChange={(event) => set({ task: Number(event.target.value) })}
            >
              {held.maps.map((_, task) => (
                // biome-ignore lint/suspicious/noArrayIndexKey: maps have no other name
                <option key={task} value={task}>
                  {task}
                </option>
              ))}
            </select>
          </label>
        )}
      </div>
      <details className="entries" open={held.on}>
        <summary>
          Entries of map {held.task}: {board.logical} blocks of {formatValue(board.block, "memory")}, {board.blocks}{" "}
          physical ones
        </summary>
        <p className="quiet">
          Until they are written, the entries of a real board hold what chance put there; shown is the map that the
          system starts with. What is fixed is never translated.
        </p>
        <ul>
          {entries.map((block, entry) => {
            const from = entry * board.block;
            const isFixed = board.fixed.some((each) => each.from <= from && each.to >= from + board.block - 1);
            const words = isFixed ? "fixed" : block < board.blocks ? `block ${block}` : "no block";
            return (
              // biome-ignore lint/suspicious/noArrayIndexKey: an entry is its number
              <li key={entry}>
                <label>
                  <span className="entry-place">
                    {hexOf(from)}–{hexOf(from + board.block - 1)}
                  </span>
                  <input
                    type="range"
                    min={0}
                    max={most}
                    value={block}
                    disabled={!held.on || isFixed}
                    aria-valuetext={words}
                    onChange={(event) =>
                      onState({ ...state, translation: withEntry(held, held.task, entry, Number(event.target.value)) })
                    }
                  />
                  <strong>{isFixed ? "fixed" : block < board.blocks ? block : "none"}</strong>
                </label>
              </li>
            );
          })}
        </ul>
      </details>
    </>
  );
}

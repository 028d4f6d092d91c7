import type { MapState } from "@rouse/core/memory";
import { formatValue } from "@rouse/core/quantity";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted, hexOf } from "../../parts/words.ts";
import type { MemoryTold } from "./types.ts";

const size = (bytes: number): string => formatValue(bytes, "memory");

/** Where the system on each image would lie, what is left, and how many logins that carries. */
export function Rooms({
  told: { rooms, wanted },
  onShow,
}: {
  told: MemoryTold;
  onShow: (state: MapState, address?: number) => void;
}) {
  return (
    <section className="panel" aria-labelledby="rooms-title">
      <h2 id="rooms-title">Room for the system</h2>
      {rooms.length === 0 && <p className="quiet">No image on this bench says what memory its system needs.</p>}
      {rooms.map(({ image, room }) => (
        <div key={image} className="room" data-testid="room">
          <h3>{image}</h3>
          <ScrollX name={`Where the parts of ${image} would lie`}>
            <table className="rows">
              <thead>
                <tr>
                  <th scope="col">Part</th>
                  <th scope="col" className="is-number">
                    Bytes
                  </th>
                  <th scope="col">Addresses</th>
                </tr>
              </thead>
              <tbody>
                {room.placed.map(({ what, bytes, from, to }) => (
                  <tr key={`${what} ${from}`}>
                    <th scope="row">{what}</th>
                    <td className="is-number">{bytes.toLocaleString("en-GB")}</td>
                    <td>
                      <button type="button" className="link" onClick={() => onShow(room.state, from)}>
                        {hexOf(from)}–{hexOf(to)}
                      </button>
                    </td>
                  </tr>
                ))}
                {room.homeless.map(({ what, bytes }) => (
                  <tr key={`${what} ${bytes}`}>
                    <th scope="row">{what}</th>
                    <td className="is-number">{bytes.toLocaleString("en-GB")}</td>
                    <td>
                      <VerdictMark verdict="stops" /> in no run
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </ScrollX>
          <dl className="shown-facts">
            <div>
              <dt>Longest run</dt>
              <dd>
                {size(room.run.bytes)}, {hexOf(room.run.from)}–{hexOf(room.run.to)}
              </dd>
            </div>
            <div>
              <dt>Left for programs</dt>
              <dd>
                {size(room.left)} of {size(room.total)} fitted
                {room.behindWindows > 0 &&
                  `; ${size(room.behindWindows)} are not seen in the same view: behind banks, or under something else`}
              </dd>
            </div>
            <div>
              <dt>Logins</dt>
              <dd>
                {room.logins === undefined || !room.login ? (
                  <>
                    <VerdictMark verdict="unknown" /> what one takes is not known; give show.loginMemory
                  </>
                ) : (
                  <>
                    {wanted !== undefined && <VerdictMark verdict={room.logins < wanted ? "stops" : "runs"} />}{" "}
                    {counted(room.logins, "login")} at {size(room.login.bytes)} each, by memory alone ({room.login.how})
                    {wanted !== undefined && `; ${wanted} wanted`}
                  </>
                )}
              </dd>
            </div>
          </dl>
        </div>
      ))}
    </section>
  );
}

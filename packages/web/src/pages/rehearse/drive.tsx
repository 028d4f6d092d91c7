import { placeInWords } from "@rouse/core/geometry";
import type { DriveShape, DriveView } from "@rouse/core/rehearse";
import { counted } from "../../parts/words.ts";

const SIZE = 220;
const CENTRE = SIZE / 2;
const [OUTER, INNER] = [92, 34];

/** A point of the disk: an angle as a share of a turn, 0 at the top. */
const at = (radius: number, share: number): string => {
  const angle = share * 2 * Math.PI - Math.PI / 2;
  return `${(CENTRE + radius * Math.cos(angle)).toFixed(2)} ${(CENTRE + radius * Math.sin(angle)).toFixed(2)}`;
};

/** A drive from above: its disk, zone by zone, the head on its track, and the sector that passed under it last. */
export function DrivePicture({ shape, view }: { shape: DriveShape; view: DriveView }) {
  const { geometry } = shape;
  const { tracks } = geometry;
  const step = (OUTER - INNER) / Math.max(1, tracks - 1);
  const radius = (track: number): number => OUTER - track * step;
  const place = view.place;
  const zone =
    place &&
    geometry.zones.find(
      ({ from, to, side }) => place.track >= from && place.track <= to && (side === undefined || side === place.side),
    );
  const arc =
    place &&
    zone &&
    `M${at(radius(place.track), place.sector / zone.sectors)}A${radius(place.track)} ${radius(place.track)} 0 ${zone.sectors < 2 ? 1 : 0} 1 ${at(radius(place.track), (place.sector + 0.92) / zone.sectors)}`;
  const where = place ? placeInWords(geometry, place) : "no sector yet";
  const head = radius(Math.min(view.track, tracks - 1));
  return (
    <figure className="drive">
      <svg
        viewBox={`0 0 ${SIZE} ${SIZE}`}
        role="img"
        aria-label={`${shape.name}: head on track ${view.track + geometry.firstTrack}, side ${view.side}; last read or written: ${where}`}
      >
        <rect className="drive-case" x="4" y="4" width={SIZE - 8} height={SIZE - 8} rx="10" />
        <circle className="drive-disk" cx={CENTRE} cy={CENTRE} r={OUTER + 6} />
        {geometry.zones.map(({ from, side }) => (
          <circle key={`${from} ${side}`} className="drive-zone" cx={CENTRE} cy={CENTRE} r={radius(from) + step / 2} />
        ))}
        <circle className="drive-zone" cx={CENTRE} cy={CENTRE} r={INNER - step / 2} />
        <circle className="drive-track" cx={CENTRE} cy={CENTRE} r={head} />
        {arc && <path className={view.busy ? "drive-sector is-busy" : "drive-sector"} d={arc} />}
        <circle className="drive-hub" cx={CENTRE} cy={CENTRE} r="16" />
        <g className={view.turning ? "drive-mark is-turning" : "drive-mark"}>
          <circle cx={CENTRE} cy={CENTRE - 10} r="2.5" />
        </g>
        <g className="drive-head" style={{ transform: `translateX(${(head - OUTER).toFixed(2)}px)` }}>
          <path d={`M${SIZE - 6} ${CENTRE - 5}H${CENTRE + OUTER + 5}V${CENTRE + 5}H${SIZE - 6}Z`} />
          <rect x={CENTRE + OUTER - 5} y={CENTRE - 7} width="12" height="14" rx="3" />
        </g>
        <circle className={view.busy ? "drive-lamp is-on" : "drive-lamp"} cx="18" cy={SIZE - 18} r="5" />
      </svg>
      <figcaption>
        <strong>{shape.name}</strong>
        <span>
          track {view.track + geometry.firstTrack}
          {geometry.sides === 2 || shape.sides === 2 ? `, side ${view.side}` : ""}
          {view.busy ? "; busy" : view.turning ? "; turns" : "; stands"}
        </span>
        <span className="quiet">
          {shape.image}: {counted(view.reads, "block")} read, {view.writes.toLocaleString("en-GB")} written
        </span>
      </figcaption>
    </figure>
  );
}

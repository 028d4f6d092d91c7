import type { ComponentType } from "react";
import type { Drawing, Link, WorkbenchReport } from "../../job/types.ts";
import { AudienceDrawing } from "./drawings/audience.tsx";
import { BoardDrawing } from "./drawings/board.tsx";
import { BusDrawing } from "./drawings/bus.tsx";
import { CableDrawing } from "./drawings/cable.tsx";
import { DriveDrawing, ImageDrawing, MediumDrawing } from "./drawings/disk.tsx";
import { MemoryDrawing } from "./drawings/memory.tsx";
import { PortDrawing } from "./drawings/port.tsx";
import { SystemDrawing } from "./drawings/system.tsx";
import { TerminalDrawing } from "./drawings/terminal.tsx";

export interface DrawingProps {
  drawing: Drawing;
  report: WorkbenchReport;
}

/** One thing on the table: a link of the chain, how wide it is drawn, and what it is called on this bench. */
export interface Station {
  link: Link;
  width: number;
  /** Where the drawing begins, from above; the space over it is left out where the chain runs downwards. */
  top: number;
  Draw: ComponentType<DrawingProps>;
  thing(drawing: Drawing): string | null | undefined;
}

const size = (sides: number | undefined, tracks: number | undefined): string | undefined =>
  tracks === undefined
    ? undefined
    : `${tracks} tracks${sides === undefined ? "" : sides === 1 ? ", one side" : ", two sides"}`;

export const STATIONS: readonly Station[] = [
  { link: "image", width: 100, top: 104, Draw: ImageDrawing, thing: ({ image }) => image?.name },
  { link: "medium", width: 108, top: 124, Draw: MediumDrawing, thing: ({ medium }) => medium?.name },
  {
    link: "drive",
    width: 130,
    top: 112,
    Draw: DriveDrawing,
    thing: ({ drive }) => drive && (size(drive.sides, drive.tracks) ?? drive.name),
  },
  { link: "bus", width: 116, top: 84, Draw: BusDrawing, thing: ({ bus }) => bus?.kind },
  {
    link: "board",
    width: 186,
    top: 22,
    Draw: BoardDrawing,
    thing: ({ computer }) =>
      computer && (computer.boards.length === 1 ? "one board" : `${computer.boards.length} boards`),
  },
  {
    link: "memory",
    width: 132,
    top: 22,
    Draw: MemoryDrawing,
    thing: ({ computer }) => (computer?.translation ? "with translation" : computer ? "16-bit addresses" : undefined),
  },
  {
    link: "system",
    width: 112,
    top: 22,
    Draw: SystemDrawing,
    thing: ({ audience }) => audience?.target && `to a ${audience.target}`,
  },
  { link: "port", width: 112, top: 22, Draw: PortDrawing, thing: ({ port }) => port?.name },
  { link: "cable", width: 222, top: 20, Draw: CableDrawing, thing: ({ cable }) => cable?.kind },
  {
    link: "terminal",
    width: 186,
    top: 36,
    Draw: TerminalDrawing,
    thing: ({ terminal }) =>
      terminal?.columns && terminal.rows ? `${terminal.columns} × ${terminal.rows} characters` : terminal?.name,
  },
  {
    link: "audience",
    width: 122,
    top: 88,
    Draw: AudienceDrawing,
    thing: ({ audience }) => (audience?.people === undefined ? undefined : `${audience.people} people`),
  },
];

/** Height of every drawing, and where the table's top is. */
export const HEIGHT = 284;

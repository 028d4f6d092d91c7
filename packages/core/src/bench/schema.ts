import * as z from "zod";
import { computer } from "./schema-computer.ts";
import { address, described, keys, named, origin, partNumber, quantity, text, whole } from "./schema-kit.ts";

/**
 * What a bench file may say. The descriptions become the hover texts of an editor (`rouse schema`); each key that a
 * check needs and does not find gives `unknown`, so nearly everything is optional.
 */

const bus = described(
  keys({
    kind: text("IEEE 488, 34-wire drive bus, 50-wire drive bus, or another name that the drive class uses."),
    devices: named(
      keys({ address: whole("Address on the bus.", 0, 255).optional() }),
      "Everything on the bus that is not a drive of this bench, the computer included.",
    ).optional(),
    cables: described(
      z.array(
        keys({
          between: z.array(z.string()).length(2).optional(),
          length: quantity("length", "Cable length."),
        }),
      ),
      "Cables of the bus.",
    ).optional(),
    rate: quantity("rate", "How fast it moves the bytes of a sector, handshake included: “2,000 byte/s”.").optional(),
    command: quantity("time", "What it takes to ask for a sector before its bytes move.").optional(),
  }),
  "What the drives hang on.",
);

const size = z.enum(["8-inch", "5.25-inch", "3.5-inch"]);
const sides = described(z.int().min(1).max(2), "1 or 2.");

const interleave = whole("Places along the track from one sector number to the next; 1 is in order.", 1, 64).optional();
const skew = whole("Places that the first sector moves on from one track to the next.", 0, 64).optional();

const drive = described(
  keys({
    class: text("Drive class of the catalogue (`rouse catalogue drives`).").optional(),
    bus: text("The bus it hangs on, by name.").optional(),
    address: whole("Address on the bus.", 0, 255).optional(),
    unit: whole("Unit behind that address.", 0, 15).optional(),
    size: size.optional(),
    sides: sides.optional(),
    tracks: whole("Tracks a side.", 1, 255).optional(),
    trackDensity: quantity("trackDensity", "Tracks across the radius.").optional(),
    rotation: quantity("rotation", "Speed of the spindle.").optional(),
    codes: z.array(z.enum(["FM", "MFM", "zoned 4-to-5 group code"])).optional(),
    fileKinds: described(
      z.array(z.string()),
      "Kinds of file a drive with its own file system offers: sequential, program, records.",
    ).optional(),
    step: quantity("time", "Track-to-track step.").optional(),
    settle: quantity("time", "Head settling after the last step.").optional(),
    headLoad: quantity("time", "Loading the head onto the disk.").optional(),
    motorStart: quantity("time", "From switching the motor on to full speed.").optional(),
    buffers: whole("Sectors that its controller keeps; 0 where bytes go on as they pass the head.", 0, 64).optional(),
    interleave,
    skew,
  }),
  "A drive.",
);

const medium = described(
  keys({
    class: text("Medium class of the catalogue (`rouse catalogue media`).").optional(),
    size: size.optional(),
    sides: sides.optional(),
    coercivity: quantity("coercivity", "Coercivity of the coating.").optional(),
    trackDensity: quantity("trackDensity", "Track density it was certified for.").optional(),
  }),
  "A disk to write on.",
);

const image = described(
  keys({
    file: text("The image, in the job's folder images/."),
    recording: text("How it is recorded on the medium (`rouse catalogue recordings`).").optional(),
    medium: text("The medium it goes on, by name.").optional(),
    drive: text("The drive that reads it, by name.").optional(),
    interleave,
    skew,
    ...origin,
  }),
  "A disk image and where it goes.",
);

const format = z.string().regex(/^[5-8][NEOMS](1|1\.5|2)$/, "a frame is written like “8N1”, “7E1” or “8N2”");
const lineEnd = {
  connector: text("Connector of the catalogue: DB-25, DE-9.").optional(),
  role: described(z.enum(["DTE", "DCE"]), "Which side of V.24 it takes.").optional(),
  pins: described(
    z.record(z.string().regex(/^\d+$/, "a pin number"), z.string()),
    "Circuit on each pin where the usual assignment does not hold; pins not listed are not connected.",
  ).optional(),
  levels: described(z.enum(["V.28", "V.10", "TTL 5 V", "TTL 3.3 V", "current loop"]), "Electrical levels.").optional(),
  format: described(format, "Data bits, parity, stop bits: 7E1, 8N1.").optional(),
  handshake: described(
    z.enum(["none", "lines", "characters"]),
    "Flow control: none, by RTS/CTS and DTR lines, or XON/XOFF.",
  ).optional(),
  contacts: described(
    z.enum(["pins", "sockets"]),
    "What the connector on the machine has: pins or sockets. The cable's plug has the other.",
  ).optional(),
  away: quantity(
    "time",
    "Longest time in which received characters are not taken away: scrolling, disk transfers, interrupts held off.",
  ).optional(),
  buffer: whole(
    "Characters kept meanwhile, by the part or by an interrupt routine; the part's own where nothing is said.",
    1,
  ).optional(),
};

const timer = described(
  keys({
    part: partNumber("Part number: Z80-CTC, 6522, 8253."),
    at: address("Address of its first register, or of the channel (Z80-CTC).").optional(),
    channel: whole("Counter used (8253).", 0, 2).optional(),
    prescale: whole("Prescaler: 1 (counter mode), 16 or 256 (Z80-CTC).", 1, 256).optional(),
    count: whole("Count loaded into it.", 1).optional(),
  }),
  "A timer between the clock and the port's rate input, or that times the bits.",
);

const port = described(
  keys({
    uart: partNumber("Part number of the serial port: MC6850.").optional(),
    at: address("Address of its first register.").optional(),
    control: address(
      "Address of a SIO channel's control register; the one behind `at` where nothing is said.",
    ).optional(),
    clock: quantity("frequency", "Crystal or clock that the rate is made from.").optional(),
    divide: whole("Divider between that clock and the part's rate input; 1 where there is none.", 1).optional(),
    ratio: whole("Ratio chosen in the part: 1, 16, 32, 64.", 1, 64).optional(),
    divisor: whole("Divisor programmed into the part (16450 kinds).", 1, 65_535).optional(),
    code: whole("Rate code written to the part (6551 kinds).", 0, 15).optional(),
    timer: timer.optional(),
    bitCycles: whole("Clock cycles a bit, where a program sends and receives the bits itself.", 1).optional(),
    ...lineEnd,
    driver: partNumber("Line driver: MC1488.").optional(),
    receiver: partNumber("Line receiver: MC1489.").optional(),
  }),
  "A serial port of the computer.",
);

const pair = z.tuple([z.int().min(1).max(50), z.int().min(1).max(50)]);
const cable = described(
  keys({
    from: text("The port it starts at, by name."),
    to: text("The terminal it ends at, by name."),
    kind: described(
      z.enum([
        "straight",
        "null modem",
        "null modem, looped handshake",
        "three wires",
        "three wires, crossed",
        "wired",
      ]),
      "A named kind, or `wired` with the wires given pin by pin. Leave it out where you don't know what the cable joins.",
    ).optional(),
    wires: described(z.array(pair), "Wires as [pin at from, pin at to].").optional(),
    jumpersFrom: described(z.array(pair), "Pins joined inside the plug at `from`.").optional(),
    jumpersTo: described(z.array(pair), "Pins joined inside the plug at `to`.").optional(),
    length: quantity("length", "Length of the cable.").optional(),
    capacitance: quantity("capacitance", "Capacitance a metre, wire to wire.").optional(),
  }),
  "A cable between a port and a terminal.",
);

const terminal = described(
  keys({
    class: text("Terminal class of the catalogue (`rouse catalogue terminals`).").optional(),
    rate: quantity("rate", "Rate it is set to.").optional(),
    rateError: quantity("share", "How far its own rate may be off; 0.2 % where nothing is said.").optional(),
    columns: whole("Characters in a row.", 1, 1024).optional(),
    rows: whole("Rows on the screen.", 1, 512).optional(),
    ...lineEnd,
    display: described(z.enum(["picture tube", "flat panel", "paper"]), "What shows the characters.").optional(),
    characterHeight: quantity("length", "Height of a capital letter on the screen.").optional(),
    controls: described(
      z.array(z.string()),
      "Control functions it obeys, by ECMA-48 abbreviation: CUP, ED, EL.",
    ).optional(),
  }),
  "A terminal.",
);

const writer = described(
  keys({
    command: described(
      z.array(z.string()).min(1),
      "Program and arguments; {image}, {drive}, {tracks} and {sides} are filled in. No shell sees it.",
    ),
    readBack: described(
      z.array(z.string()).min(1),
      "Program and arguments that read the disk into the file {back}, for verifying.",
    ).optional(),
    progress: text("Regular expression on its output: one group is a percentage, two are done and all.").optional(),
    limit: quantity("time", "It is ended after this time.").optional(),
  }),
  "An external program that writes disks through an adapter of yours.",
);

const show = described(
  keys({
    target: described(z.enum(["login", "prompt", "program"]), "What must be reached.").optional(),
    program: text("The program to show, as it is typed.").optional(),
    image: text("The image that is booted, by name.").optional(),
    port: text("The port that the audience sees, by name.").optional(),
    terminal: text("The terminal that the audience sees, by name.").optional(),
    people: whole("How many watch.", 1, 100_000).optional(),
    distance: quantity("length", "From the screen to the last row of the audience.").optional(),
    logins: whole("People who are to be logged in at once.", 1, 1000).optional(),
    loginMemory: quantity(
      "memory",
      "Memory that one login takes; where nothing is said, that of the largest program which the accounts ask for.",
    ).optional(),
    banner: whole("Characters that are printed from the start to the login's prompt.").optional(),
    patience: quantity("time", "Longest silence that the audience should have to bear.").optional(),
  }),
  "What is to be shown, and to whom.",
);

export const benchSchema = described(
  keys({
    rouse: described(z.literal(1), "Version of the bench file: 1."),
    name: text("A name for this bench."),
    about: text("A sentence or two on the occasion.").optional(),
    computer: computer.optional(),
    buses: named(bus, "Buses by name.").optional(),
    drives: named(drive, "Drives by name.").optional(),
    media: named(medium, "Media by name.").optional(),
    images: named(image, "Disk images by name.").optional(),
    ports: named(port, "Serial ports by name.").optional(),
    terminals: named(terminal, "Terminals by name.").optional(),
    cables: named(cable, "Cables by name.").optional(),
    writers: named(writer, "Programs that write disks through an adapter, by name.").optional(),
    show: show.optional(),
  }),
  "One bench: everything on the table.",
);

export type BenchFile = z.output<typeof benchSchema>;

/** The JSON Schema (2020-12) of the bench file, for editors. */
export const benchJsonSchema = (): object => ({
  ...z.toJSONSchema(benchSchema, { io: "input" }),
  title: "Rouse bench file, version 1",
});

import * as z from "zod";
import { computer } from "./schema-computer.ts";
import { address, named, partNumber, quantity, text, whole } from "./schema-kit.ts";

/**
 * What a bench file may say. The descriptions become the hover texts of an editor (`rouse schema`); each key that a
 * check needs and does not find gives `unknown`, so nearly everything is optional.
 */

const bus = z
  .strictObject({
    kind: text("IEEE 488, 34-wire drive bus, 50-wire drive bus, or another name that the drive class uses."),
    devices: named(
      z.strictObject({ address: whole("Address on the bus.", 0, 255).optional() }),
      "Everything on the bus that is not a drive of this bench, the computer included.",
    ).optional(),
    cables: z
      .array(
        z.strictObject({
          between: z.array(z.string()).length(2).optional(),
          length: quantity("length", "Cable length."),
        }),
      )
      .describe("Cables of the bus.")
      .optional(),
    rate: quantity("rate", "How fast it moves the bytes of a sector, handshake included: “2,000 byte/s”.").optional(),
    command: quantity("time", "What it takes to ask for a sector before its bytes move.").optional(),
  })
  .describe("What the drives hang on.");

const size = z.enum(["8-inch", "5.25-inch", "3.5-inch"]);
const sides = z.int().min(1).max(2).describe("1 or 2.");

const interleave = whole("Places along the track from one sector number to the next; 1 is in order.", 1, 64).optional();
const skew = whole("Places that the first sector moves on from one track to the next.", 0, 64).optional();

const drive = z
  .strictObject({
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
    fileKinds: z
      .array(z.string())
      .describe("Kinds of file a drive with its own file system offers: sequential, program, records.")
      .optional(),
    step: quantity("time", "Track-to-track step.").optional(),
    settle: quantity("time", "Head settling after the last step.").optional(),
    headLoad: quantity("time", "Loading the head onto the disk.").optional(),
    motorStart: quantity("time", "From switching the motor on to full speed.").optional(),
    buffers: whole("Sectors that its controller keeps; 0 where bytes go on as they pass the head.", 0, 64).optional(),
    interleave,
    skew,
  })
  .describe("A drive.");

const medium = z
  .strictObject({
    class: text("Medium class of the catalogue (`rouse catalogue media`).").optional(),
    size: size.optional(),
    sides: sides.optional(),
    coercivity: quantity("coercivity", "Coercivity of the coating.").optional(),
    trackDensity: quantity("trackDensity", "Track density it was certified for.").optional(),
  })
  .describe("A disk to write on.");

const image = z
  .strictObject({
    file: text("The image, in the job's folder images/."),
    recording: text("How it is recorded on the medium (`rouse catalogue recordings`).").optional(),
    medium: text("The medium it goes on, by name.").optional(),
    drive: text("The drive that reads it, by name.").optional(),
    interleave,
    skew,
    from: text("Where it came from.").optional(),
    permission: text("Who allowed its use, in their words.").optional(),
  })
  .describe("A disk image and where it goes.");

const format = z.string().regex(/^[5-8][NEOMS](1|1\.5|2)$/, "a frame is written like “8N1”, “7E1” or “8N2”");
const lineEnd = {
  connector: text("Connector of the catalogue: DB-25, DE-9.").optional(),
  role: z.enum(["DTE", "DCE"]).describe("Which side of V.24 it takes.").optional(),
  pins: z
    .record(z.string().regex(/^\d+$/, "a pin number"), z.string())
    .describe("Circuit on each pin where the usual assignment does not hold; pins not listed are not connected.")
    .optional(),
  levels: z.enum(["V.28", "V.10", "TTL 5 V", "TTL 3.3 V", "current loop"]).describe("Electrical levels.").optional(),
  format: format.describe("Data bits, parity, stop bits: 7E1, 8N1.").optional(),
  handshake: z
    .enum(["none", "lines", "characters"])
    .describe("Flow control: none, by RTS/CTS and DTR lines, or XON/XOFF.")
    .optional(),
  contacts: z
    .enum(["pins", "sockets"])
    .describe("What the connector on the machine has: pins or sockets. The cable's plug has the other.")
    .optional(),
  away: quantity(
    "time",
    "Longest time in which received characters are not taken away: scrolling, disk transfers, interrupts held off.",
  ).optional(),
  buffer: whole(
    "Characters kept meanwhile, by the part or by an interrupt routine; the part's own where nothing is said.",
    1,
  ).optional(),
};

const timer = z
  .strictObject({
    part: partNumber("Part number: Z80-CTC, 6522, 8253."),
    at: address("Address of its first register, or of the channel (Z80-CTC).").optional(),
    channel: whole("Counter used (8253).", 0, 2).optional(),
    prescale: whole("Prescaler: 1 (counter mode), 16 or 256 (Z80-CTC).", 1, 256).optional(),
    count: whole("Count loaded into it.", 1).optional(),
  })
  .describe("A timer between the clock and the port's rate input, or that times the bits.");

const port = z
  .strictObject({
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
  })
  .describe("A serial port of the computer.");

const pair = z.tuple([z.int().min(1).max(50), z.int().min(1).max(50)]);
const cable = z
  .strictObject({
    from: text("The port it starts at, by name."),
    to: text("The terminal it ends at, by name."),
    kind: z
      .enum(["straight", "null modem", "null modem, looped handshake", "three wires", "three wires, crossed", "wired"])
      .describe("A named kind, or `wired` with the wires given pin by pin."),
    wires: z.array(pair).describe("Wires as [pin at from, pin at to].").optional(),
    jumpersFrom: z.array(pair).describe("Pins joined inside the plug at `from`.").optional(),
    jumpersTo: z.array(pair).describe("Pins joined inside the plug at `to`.").optional(),
    length: quantity("length", "Length of the cable.").optional(),
    capacitance: quantity("capacitance", "Capacitance a metre, wire to wire.").optional(),
  })
  .describe("A cable between a port and a terminal.");

const terminal = z
  .strictObject({
    class: text("Terminal class of the catalogue (`rouse catalogue terminals`).").optional(),
    rate: quantity("rate", "Rate it is set to.").optional(),
    rateError: quantity("share", "How far its own rate may be off; 0.2 % where nothing is said.").optional(),
    columns: whole("Characters in a row.", 1, 1024).optional(),
    rows: whole("Rows on the screen.", 1, 512).optional(),
    ...lineEnd,
    display: z.enum(["picture tube", "flat panel", "paper"]).describe("What shows the characters.").optional(),
    characterHeight: quantity("length", "Height of a capital letter on the screen.").optional(),
    controls: z
      .array(z.string())
      .describe("Control functions it obeys, by ECMA-48 abbreviation: CUP, ED, EL.")
      .optional(),
  })
  .describe("A terminal.");

const writer = z
  .strictObject({
    command: z
      .array(z.string())
      .min(1)
      .describe("Program and arguments; {image}, {drive}, {tracks} and {sides} are filled in. No shell sees it."),
    readBack: z
      .array(z.string())
      .min(1)
      .describe("Program and arguments that read the disk into the file {back}, for verifying.")
      .optional(),
    progress: text("Regular expression on its output: one group is a percentage, two are done and all.").optional(),
    limit: quantity("time", "It is ended after this time.").optional(),
  })
  .describe("An external program that writes disks through an adapter of yours.");

const show = z
  .strictObject({
    target: z.enum(["login", "prompt", "program"]).describe("What must be reached.").optional(),
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
  })
  .describe("What is to be shown, and to whom.");

export const benchSchema = z
  .strictObject({
    rouse: z.literal(1).describe("Version of the bench file: 1."),
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
  })
  .describe("One bench: everything on the table.");

export type BenchFile = z.output<typeof benchSchema>;

/** The JSON Schema (2020-12) of the bench file, for editors. */
export const benchJsonSchema = (): object => ({
  ...z.toJSONSchema(benchSchema, { io: "input" }),
  title: "Rouse bench file, version 1",
});

import * as z from "zod";
import {
  address,
  described,
  keys,
  named,
  origin,
  partNumber,
  quantity,
  rail,
  text,
  voltageAboveZero,
  whole,
  yesNo,
} from "./schema-kit.ts";

const cpu = described(
  keys({
    part: partNumber("Part number of the CPU: MC6809E, 6502, Z80A.").optional(),
    clock: quantity("frequency", "Bus clock: one cycle of the CPU.").optional(),
    handling: quantity("time", "What the system does with a sector before it asks for the next.").optional(),
    startUp: quantity(
      "time",
      "From reset until it first asks for a sector: the memory test, and what is printed meanwhile.",
    ).optional(),
    start: address("Where the board makes the CPU start, where that isn't up to the CPU alone.").optional(),
  }),
  "The CPU and its clock.",
);

const latch = described(
  keys({
    at: address("Address at which it is written, or number of the port.").optional(),
    port: yesNo("True where `at` is the number of a port (Z80), not an address.").optional(),
    bits: whole("Bits that it holds.", 1, 8).optional(),
    readable: yesNo("Can the CPU read it back?").optional(),
    powerOn: whole("What it holds at power-on.", 0, 255).optional(),
  }),
  "A latch that changes what the CPU sees.",
);

const equation = (about: string) =>
  text(
    `${about} An equation over A15 to A0, bits of latches (“bank.0”, “bank = 3”), “read” and the signals under computer.logic: not A13 and (A15 or A14), or A15..A12 = $E.`,
  );

const region = described(
  keys({
    kind: described(z.enum(["ram", "rom", "io", "window"]), "What answers: ram, rom, io, or a window onto banks."),
    at: address("First address."),
    size: quantity("memory", "How much of the address space it takes."),
    banks: whole("Banks behind a window.", 1).optional(),
    latch: described(
      keys({
        at: address("Address of the bank latch."),
        bits: whole("Bits that choose the bank.", 1, 8).optional(),
        readable: yesNo("Can the CPU read the latch back?").optional(),
        powerOn: whole("Bank chosen at power-on.").optional(),
      }),
      "How a bank is chosen.",
    ).optional(),
    chips: partNumber("Part number of the memory chips.").optional(),
    file: text("ROM image, in the job's folder images/.").optional(),
    ...origin,
    decode: text(
      "Address lines that the select looks at: “A15..A12”. Lines that are neither here nor inside the region are don't-cares, so that it answers at mirrors too.",
    ).optional(),
    select: described(
      z.union([equation("When it is selected."), z.array(equation("When it is selected.")).min(1).max(8)]),
      "When it is selected, as an equation; several are proved to be equal.",
    ).optional(),
    when: equation("In which states of the latches it is there at all.").optional(),
    only: described(z.enum(["read", "write"]), "Answers reads only, or writes only.").optional(),
    board: text("The board that its chips are on, by its name under boards.").optional(),
    places: described(z.array(z.string()), "Places of its chips: bit 0 first, row after row.").max(256).optional(),
    shares: text("Another region whose chips these are too, by name.").optional(),
    offset: address("Where in those chips it begins.").optional(),
    waits: whole("Wait states of an access.", 0, 16).optional(),
    under: yesNo("True where this lies under another region (RAM under ROM).").optional(),
  }),
  "One stretch of the address space.",
);

const translation = described(
  keys({
    board: text("The board that does it, by its name under boards.").optional(),
    block: quantity("memory", "Size of a translated block.").optional(),
    blocks: whole("Physical blocks behind it.", 1).optional(),
    tasks: whole("Maps that can be held at once.", 1).optional(),
    at: address("First address of its registers.").optional(),
    latch: described(
      keys({
        at: address("Address of the latch.").optional(),
        enable: whole("Bit that switches translation on.", 0, 7).optional(),
        task: whole("Lowest bit of the number of the map that the CPU uses.", 0, 7).optional(),
        write: whole("Lowest bit of the number of the map that is written.", 0, 7).optional(),
        readable: yesNo("Can the CPU read it back?").optional(),
      }),
      "The latch that switches translation and chooses the map.",
    ).optional(),
    powerOn: described(z.enum(["on", "off"]), "Does it translate at power-on?").optional(),
    readable: yesNo("Can the CPU read the maps back?").optional(),
    fixed: described(
      z.array(keys({ at: address("First address."), size: quantity("memory", "How much.") })),
      "Stretches that are never translated: ROM, I/O.",
    )
      .max(16)
      .optional(),
    map: described(
      z.array(whole("Physical block.", 0, 65_535)),
      "The map that the system starts with: a physical block for each logical one, from $0000 up.",
    )
      .max(256)
      .optional(),
    order: described(
      z.array(z.string()),
      "Regions in the order of their physical blocks; main memory and then the banks where nothing is said.",
    ).optional(),
    fitted: yesNo("False where the board is not there yet.").optional(),
  }),
  "Address translation: logical blocks that a board maps onto physical ones.",
);

const chip = described(
  keys({
    part: partNumber("Part number: 74LS244, 4164."),
    count: whole("How many.", 1).optional(),
    place: text("Where on the board: U7, row C.").optional(),
    socketed: z.boolean().optional(),
  }),
  "Chips of one part number.",
);

const board = described(
  keys({
    added: yesNo("True for a board that the machine did not have when it left its maker.").optional(),
    chips: described(z.array(chip), "Chips on the board.").optional(),
    draws: described(
      z.record(rail, quantity("current", "Current drawn from this rail.")),
      "Measured or stated current by rail; used instead of the sum over the chips.",
    ).optional(),
    lines: named(
      keys({
        drivenBy: partNumber("Part that drives them; the CPU where nothing is said for an address line.").optional(),
        loads: described(
          z.record(z.string(), whole("Inputs of this part on each line.", 1, 1000)),
          "Inputs on each of these lines, by part number.",
        ).optional(),
        outputs: described(
          z.record(z.string(), whole("Outputs of this part on each line.", 1, 1000)),
          "Three-state outputs that share each of these lines, by part number.",
        ).optional(),
        length: quantity("length", "Length of the wire on this board or of the ribbon to it.").optional(),
        capacitance: quantity("capacitance", "Capacitance of wire and sockets.").optional(),
      }),
      "Bus lines that this board loads or drives, by name: “A15..A12”, “D7..D0”.",
    ).optional(),
    feed: described(
      keys({
        length: quantity("length", "Length of the wires that bring its current.").optional(),
        wires: whole("Wires for +5 V; as many carry it back.", 1, 64).optional(),
        gauge: whole("Size of a wire, AWG.", 10, 40).optional(),
        resistance: quantity("resistance", "Resistance there and back, instead of length, wires and gauge.").optional(),
        contacts: whole(
          "Contacts of plugs and sockets on the way, there and back, each wire counted once.",
          0,
          16,
        ).optional(),
        contact: quantity("resistance", "Resistance of a contact.").optional(),
      }),
      "How its current reaches it.",
    ).optional(),
    socket: described(
      keys({
        place: text("Socket or connector of the machine that it goes into."),
        pins: whole("Contacts.", 1, 200).optional(),
        pin1: text("Where pin 1 is: “towards the rear edge”.").optional(),
      }),
      "Where it is plugged in.",
    ).optional(),
    removes: described(
      z.array(
        keys({
          part: partNumber("Part number."),
          place: text("Where it is now.").optional(),
          goes: text("Where it goes: onto the added board, at U1; into the box of spares.").optional(),
        }),
      ),
      "Parts that are taken out of the machine for it.",
    ).optional(),
    links: described(
      z.array(
        keys({
          name: text("Name of the link or switch."),
          set: text("How it is to be set."),
          was: text("How it was before.").optional(),
        }),
      ),
      "Links and switches to set.",
    ).optional(),
    note: text("Anything worth knowing.").optional(),
  }),
  "A board and what is on it.",
);

const supplyRail = described(
  keys({
    voltage: quantity("voltage", "Voltage of the rail, with its tolerance.").optional(),
    limit: quantity("current", "Largest current it may give.").optional(),
    reserve: quantity("share", "Share of the limit to keep free; 20 % where nothing is said.").optional(),
    unregulated: described(
      keys({
        secondary: voltageAboveZero("Effective voltage of the transformer's secondary under load."),
        rectifier: described(z.enum(["bridge", "centre tap", "half wave"]), "How it is rectified.").optional(),
        filter: quantity("capacitance", "Filter capacitor, with its tolerance: “10,000 µF ± 20 %”.").optional(),
        frequency: quantity("frequency", "Mains frequency.").optional(),
        lowMains: quantity("share", "How far the mains may be low; 10 % where nothing is said.").optional(),
      }),
      "What feeds the regulator: transformer, rectifier, filter capacitor.",
    ).optional(),
    regulator: described(
      keys({
        part: partNumber("Part number: 7805."),
        input: quantity("voltage", "Voltage at its input under load.").optional(),
        heatSink: quantity("thermal", "Thermal resistance from case to air.").optional(),
        ambient: quantity("temperature", "Air temperature inside the case.").optional(),
      }),
      "The linear regulator of this rail.",
    ).optional(),
  }),
  "One rail of the supply.",
);

const stage = described(
  keys({
    part: partNumber("Part number."),
    path: text("Which of its delays, as the catalogue names it; its longest where nothing is said.").optional(),
    board: text("The board it is on, by name.").optional(),
    note: text("What it does there.").optional(),
  }),
  "A part on the way.",
);

const path = described(
  keys({
    region: text("The region of memory that is reached, by name."),
    through: described(z.array(stage), "Parts between the CPU's address pins and the memory, in order.").optional(),
    back: described(z.array(stage), "Parts between the memory's data pins and the CPU, in order.").optional(),
    chip: partNumber("Memory chip with its speed grade; the region's where nothing is said.").optional(),
    access: quantity("time", "Access time, where the chip's grade is not in the catalogue.").optional(),
    starts: quantity(
      "time",
      "Time in the cycle at which the memory is started (row strobe), where the clock does it and not the address.",
    ).optional(),
    waits: whole("Wait states.", 0, 16).optional(),
  }),
  "A read of memory, from the address to the data.",
);

const logic = described(
  keys({
    equations: described(z.record(z.string(), equation("The signal.")), "Signals by name.").optional(),
    parts: named(
      keys({
        part: partNumber("Part number: 74LS138."),
        pins: described(
          z.record(z.string(), z.union([z.string(), z.number()]).transform(String)),
          "Signal on each pin, by the pin's name or number; “0” and “1” are ground and supply.",
        ),
      }),
      "Parts of the decoder, wired together by the signals on their pins.",
    ).optional(),
  }),
  "Logic of the address decoder: equations, parts wired together, or both.",
);

const offset = (about: string) => whole(about, 0, 255).optional();
const port = yesNo("True where `at` is the number of a port (Z80), not an address.").optional();

const controller = described(
  keys({
    at: address("Its first register."),
    port,
    registers: described(
      keys({
        command: whole("Written: 1 reads the sector, 2 writes it. Read: status.", 0, 255),
        data: whole("Bytes of the sector.", 0, 255),
        address: offset("Bus address of the drive."),
        high: offset("Number of the block, high byte."),
        low: offset("Number of the block, low byte."),
        track: offset("Track, where it is asked by track and sector. Counted as the recording prints it."),
        side: offset("Side, where it is asked by track and sector."),
        sector: offset("Sector, counted as the recording prints it."),
      }),
      "Where each register is, counted from `at`.",
    ),
  }),
  "The disk controller, as programs see it (docs/rehearsal.md).",
);

const tick = described(
  keys({
    at: address("Address at which it is read and cleared."),
    bit: whole("Bit that says a tick has come; 7 where nothing is said.", 0, 7).optional(),
    every: whole("Cycles of the CPU from tick to tick.", 1),
    interrupts: yesNo("Does it ask for an interrupt?").optional(),
  }),
  "A divider on the CPU's clock that sets a bit again and again; any write clears it.",
);

const signals = described(
  keys({
    lamp: described(
      keys({
        at: address("Address that lights it, or number of the port."),
        port,
        bit: whole("Its bit.", 0, 7),
        lit: whole("What the bit is while it is lit; 1 where nothing is said.", 0, 1).optional(),
      }),
      "A lamp that programs can light.",
    ).optional(),
    bell: described(
      keys({
        at: address("Address that rings it, or number of the port."),
        port,
        value: whole("What is written there to ring it; 0 where nothing is said.", 0, 255).optional(),
      }),
      "A bell or buzzer that a write rings.",
    ).optional(),
    screen: described(
      keys({ at: address("Address of the first character, shown at the top left.") }),
      "Memory of a screen whose bytes are characters of ISO 646.",
    ).optional(),
  }),
  "What a test program can show its verdict with, beside the port (docs/diagnostics.md).",
);

const timer = described(
  keys({
    part: partNumber("Part number: 6522, MC6821, Z80-CTC."),
    at: address("Its first register."),
    port,
    every: whole("Cycles of the CPU between two pulses on its input: CA1 (6821), CLK/TRG (CTC).", 1).optional(),
    line: described(z.enum(["IRQ", "FIRQ", "NMI", "INT"]), "Interrupt input of the CPU that it drives.").optional(),
  }),
  "A timer chip, or a parallel port whose input is pulsed.",
);

export const computer = described(
  keys({
    name: text("What you call it.").optional(),
    cpu: cpu.optional(),
    memory: named(region, "Stretches of the address space by name.").optional(),
    translation: translation.optional(),
    latches: named(latch, "Latches that regions ask for under `when` or `select`, by name.").optional(),
    logic: logic.optional(),
    paths: named(path, "Ways of a read from the CPU to a memory and back, by name.").optional(),
    boards: named(board, "Boards by name.").optional(),
    supply: described(z.record(rail, supplyRail), "Rails of the supply by name: “+5 V”.").optional(),
    controller: controller.optional(),
    tick: tick.optional(),
    signals: signals.optional(),
    timers: named(timer, "Timers by name, besides those that make a port's rate.").optional(),
    mains: described(
      z.enum(["inside", "outside"]),
      "Is mains voltage inside the case, or in a separate supply?",
    ).optional(),
  }),
  "The computer.",
);

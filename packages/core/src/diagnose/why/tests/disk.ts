import { formatValue } from "../../../quantity/index.ts";
import { liveInside } from "../kit.ts";
import type { Test } from "../types.ts";
import { bad, cured, good, inTurn, outcome, type TestKit, test } from "./kit.ts";

/** Speed that drives keep (common practice, no source). */
const SPEED_SHARE = 0.015;

export function diskTests(kit: TestKit): Test[] {
  const { drive, image, bus, computer, causes } = kit;
  return [
    ...(drive ? [otherDisk, otherDrive(kit), cleanHead(kit), speed(kit), arm(kit), driveRails(kit)] : []),
    ...(drive && image ? [readBack(kit), recordingCheck(kit)] : []),
    ...(image ? [imageCheck(kit)] : []),
    ...(bus && drive ? [busAddress(kit), busCable(kit)] : []),
    ...(causes.some(({ kind }) => kind === "bus-neighbour") ? [busAlone(kit)] : []),
    ...(computer && bus ? [controller(kit)] : []),
    ...(causes.some(({ kind }) => kind === "needs") ? [needs, startUp] : []),
  ];
}

const otherDisk = test({
  id: "other-disk",
  kind: "exchange",
  link: "medium",
  title: "Start from another disk",
  how: ["A second disk, written and verified, or one that is known to start this machine. Never an original."],
  minutes: 3,
  ...cured((fault) => {
    if (fault.is("medium", "written")) return 0.95;
    return fault.is("image")
      ? 0.6
      : fault.is("recording")
        ? 0.5
        : fault.is("alignment")
          ? 0.4
          : fault.is("head")
            ? 0.08
            : 0.01;
  }),
});

const otherDrive = ({ drive }: TestKit): Test =>
  test({
    id: "other-drive",
    kind: "exchange",
    link: "drive",
    title: `Another drive in the place of ${drive!.name}`,
    how: ["Power off at both; same address, same kind. Then start again."],
    minutes: 8,
    ...cured((fault) => {
      if (fault.is("drive-supply", "motor", "arm", "drive-board", "head", "alignment")) return 0.95;
      return fault.is("bus-address") ? 0.6 : fault.is("bus-cable") ? 0.15 : fault.is("recording") ? 0.4 : 0.01;
    }),
  });

const cleanHead = ({ drive }: TestKit): Test =>
  test({
    id: "clean-head",
    kind: "exchange",
    link: "drive",
    title: `Clean the heads of ${drive!.name}`,
    how: [
      "With the cleaner of its kind, or with alcohol on a lint-free swab, the drive's plug pulled. Then start again.",
    ],
    tools: ["head cleaner"],
    minutes: 6,
    ...cured((fault) => (fault.is("head") ? 0.88 : fault.is("medium") ? 0.05 : 0.01)),
  });

function speed({ drive }: TestKit): Test {
  const wanted = drive!.rotation?.value.value;
  const words = wanted ? `${formatValue(wanted, "rotation")} ± ${SPEED_SHARE * 100} %` : "as its class says";
  return test({
    id: "speed",
    kind: "measure",
    link: "drive",
    title: `Measure the speed of ${drive!.name}`,
    how: [`Strobe disc under mains light, or a program that times a turn: ${words}.`],
    tools: ["strobe disc or program"],
    outcomes: [
      good(words),
      outcome("off", "too slow, too fast or unsteady", "drive speed wrong"),
      outcome("none", "it does not turn"),
    ],
    minutes: 4,
    ...(wanted
      ? {
          reading: {
            dimension: "rotation" as const,
            names: ["speed", `speed of ${drive!.name}`],
            wanted: words,
            outcomeOf: (value: number) =>
              value < wanted * 0.1
                ? "none"
                : Math.abs(value - wanted) <= wanted * (SPEED_SHARE + 1e-9)
                  ? "good"
                  : "off",
          },
        }
      : {}),
    chances: (fault) =>
      inTurn(
        fault,
        [
          ["drivePower", [0, 0, 1]],
          ["spin", fault.manner === "dead" ? [0, 0.05, 0.95] : [0.06, 0.92, 0.02]],
          ["driveLogic", [0.5, 0.1, 0.4]],
          ["bus", [0.35, 0, 0.65]],
        ],
        [1, 0, 0],
      ),
  });
}

const arm = ({ drive }: TestKit): Test =>
  test({
    id: "arm",
    kind: "look",
    link: "drive",
    title: `Move the head carriage of ${drive!.name} by hand`,
    how: [
      "The drive's plug pulled, its cover off: a light push along the rails. Does it glide, does it return at power-on?",
    ],
    outcomes: [good("glides and returns"), outcome("stuck", "stuck, stiff or does not return")],
    minutes: 6,
    inside: true,
    risk: "low",
    hazards: ["mains", "static"],
    ...bad((fault) =>
      fault.is("arm") ? (fault.manner === "dead" ? 0.93 : 0.6) : fault.is("drive-board") ? 0.3 : 0.02,
    ),
  });

const driveRails = (kit: TestKit): Test =>
  test({
    id: "drive-rails",
    kind: "measure",
    link: "drive",
    title: `Measure the rails of ${kit.drive!.name}`,
    how: [
      ...(liveInside(kit).includes("mains")
        ? ["One hand behind your back; no wrist strap while mains is near; not alone."]
        : []),
      "Meter on direct voltage at the drive's own supply plug, ± 5 % (from memory).",
    ],
    tools: ["multimeter"],
    outcomes: [good("right"), outcome("bad", "missing or low", "drive rails low")],
    minutes: 5,
    inside: true,
    risk: "some",
    hazards: ["mains", "capacitors"],
    ...bad((fault) => Math.min(1, fault.stops("drivePower") * 0.96)),
  });

const readBack = ({ image }: TestKit): Test =>
  test({
    id: "read-back",
    kind: "run",
    link: "medium",
    title: "Read the disk back on another computer, and compare",
    how: [`\`rouse write JOB\` verifies a disk against ${image!.name}; or read it in the drive that wrote it.`],
    tools: ["drive on a computer, or an adapter for the disk drive"],
    outcomes: [
      good("every block the same"),
      outcome("differs", "it holds something else"),
      outcome("unreadable", "blocks cannot be read"),
    ],
    minutes: 8,
    chances: (fault) =>
      fault.is("written")
        ? [0.04, 0.85, 0.11]
        : fault.is("medium")
          ? [0.15, 0.07, 0.78]
          : fault.is("recording")
            ? [0.8, 0.1, 0.1]
            : [1, 0, 0],
  });

const recordingCheck = ({ image, drive }: TestKit): Test =>
  test({
    id: "recording-check",
    kind: "look",
    link: "drive",
    title: `Compare the recording of ${image!.name} with ${drive!.name}`,
    how: ["Sides, tracks and code: what the drive's label says, against `rouse check JOB`."],
    outcomes: [good("they agree"), outcome("differ", "they differ", "recording does not fit the drive")],
    minutes: 2,
    ...bad((fault) => (fault.is("recording") ? 0.93 : 0.01)),
  });

const imageCheck = ({ image }: TestKit): Test =>
  test({
    id: "image-check",
    kind: "run",
    link: "image",
    title: `Verify ${image!.name}`,
    how: [`\`rouse look\` on ${image!.file}: is it whole, does its hash agree with where it came from?`],
    outcomes: [good("whole"), outcome("damaged", "damaged, or another hash", "image damaged")],
    minutes: 2,
    misleads: 0.01,
    ...bad((fault) => (fault.is("image") ? 0.93 : 0.01)),
  });

const busAddress = ({ drive, bus }: TestKit): Test =>
  test({
    id: "bus-address",
    kind: "look",
    link: "bus",
    title: `Read the address of ${drive!.name}`,
    how: [
      `Its links or switch, against the bench${drive!.address === undefined ? "" : `: ${drive!.address}`}; and those of every other device on ${bus!.name}.`,
    ],
    outcomes: [good("as the bench says, no two alike"), outcome("differs", "another, or two alike", "wrong address")],
    minutes: 2,
    ...bad((fault) => (fault.is("bus-address") ? 0.95 : 0.01)),
  });

const busCable = ({ bus }: TestKit): Test =>
  test({
    id: "bus-cable",
    kind: "exchange",
    link: "bus",
    title: `Another cable for ${bus!.name}`,
    how: ["Power off at both ends; look at the plugs; another cable, pin 1 to pin 1. Then start again."],
    minutes: 4,
    risk: "low",
    ...cured((fault) => (fault.is("bus-cable") ? 0.95 : fault.is("bus-neighbour") ? 0.1 : 0.01)),
  });

const busAlone = ({ bus }: TestKit): Test =>
  test({
    id: "bus-alone",
    kind: "exchange",
    link: "bus",
    title: `Nothing but the drive on ${bus!.name}`,
    how: ["Power off; unplug every other device. Then start again."],
    minutes: 3,
    ...cured((fault) =>
      fault.is("bus-neighbour") ? 0.95 : fault.is("bus-address") ? 0.2 : fault.is("bus-cable") ? 0.15 : 0.01,
    ),
  });

const controller = ({ bus }: TestKit): Test =>
  test({
    id: "controller",
    kind: "measure",
    link: "bus",
    title: `Probe the lines of ${bus!.name} at the computer`,
    how: ["Cable off, so that nothing pulls at them; start from the disk: do the lines move?"],
    tools: ["logic probe or oscilloscope"],
    outcomes: [good("they move"), outcome("still", "they never move", "bus dead")],
    minutes: 4,
    ...bad((fault) => {
      const own = fault.node === "controller" ? fault.stops("controller") * (fault.manner === "wrong" ? 0.6 : 1) : 0;
      return Math.max(own * 0.96, fault.stops("cpu") * 0.95, fault.stops("ram") * 0.7);
    }),
  });

const needs = test({
  id: "needs",
  kind: "run",
  link: "system",
  title: "Compare what the system needs with the machine as it stands",
  how: ["`rouse check JOB` lists it; then look: is each board, chip and link really there?"],
  outcomes: [good("all is there"), outcome("lacks", "something is missing", "something the system needs is missing")],
  minutes: 5,
  misleads: 0.03,
  ...bad((fault) => (fault.is("needs") ? 0.9 : fault.is("fitting") ? 0.6 : 0.01)),
});

const startUp = test({
  id: "start-up",
  kind: "run",
  link: "system",
  title: "Read the start-up files and port settings on the image",
  how: ["`rouse look` shows them: do port, rate, frame and names agree with the bench?"],
  outcomes: [good("they agree"), outcome("differ", "they differ", "start-up files wrong")],
  minutes: 4,
  misleads: 0.03,
  ...bad((fault) => (fault.is("start-up") ? 0.9 : 0.01)),
});

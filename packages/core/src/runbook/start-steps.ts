import type { Bench } from "../bench/index.ts";
import { fittingsOf } from "../board/index.ts";
import { type HashedImage, inSeconds, timed, timeOf } from "./disk-steps.ts";
import type { Draft } from "./step.ts";

const START_CHECKS = ["system-boot", "system-cpu", "system-files", "system-modules", "bus-address", "bus-length"];

/** Boot with its predicted time, login, and the show itself. */
export function startSteps(bench: Bench, images: readonly HashedImage[]): Draft[] {
  const shown = bench.show?.image ?? bench.images[0];
  if (!shown || !bench.computer) return [];
  const found = images.find((each) => each.name === shown.name);
  const boot = timed(bench, found, { what: "boot" });
  const login = bench.show?.target === "prompt" ? undefined : timed(bench, found, { what: "login" });
  const rests = [bench.computer, bench.buses, shown, found?.sha256, bench.cables];
  const screen = bench.show?.terminal?.name ?? bench.terminals[0]?.name ?? "the terminal";
  const steps: Draft[] = [
    {
      id: "boot",
      title: `Boot from ${shown.name}`,
      why: "The whole chain is asked for the first time.",
      how: [
        "Terminal on first, then drive, then computer; disk in only when the drive has come to rest.",
        "Start the clock as the drive does. Listen: steps, then even reading.",
        `Keep the session: \`rouse talk PORT --capture captures/first-boot.jsonl\` in the place of ${screen}, or a camera.`,
      ],
      expected: boot ? `The system is up in ${inSeconds(boot)}.` : "The system comes up; how fast cannot be said yet.",
      tools: ["watch", "capture of the line or camera"],
      time: timeOf(boot, 3),
      say: "Head moves and nothing is printed: line or boot file. No step at all: bus address or cable. Retries: disk or head. Much slower than predicted: `rouse time JOB --measured` says what fits.",
      checks: START_CHECKS,
      missing: boot?.missing.map((each) => each.key) ?? [],
      rests,
    },
  ];
  if (bench.show?.target !== "prompt")
    steps.push({
      id: "login",
      title: "Log in",
      why: "The login asks for more files, more memory and the terminal's abilities.",
      how: [
        "Wait for the prompt, type the account's name, look at every sign that comes.",
        ...(bench.show?.logins && bench.show.logins > 1 ? [`Do so for ${bench.show.logins} people at once.`] : []),
      ],
      expected: login ? `The prompt, ${inSeconds(login)} after the start of the boot.` : "The prompt of the login.",
      time: timeOf(login, 2),
      say: "Asked again and again: account file, or letters in the wrong case. Refused: memory for one more login.",
      checks: ["memory-needs", "memory-room", "terminal-controls", "port-descriptor"],
      missing: login?.missing.map((each) => each.key) ?? [],
      rests: [...rests, bench.show?.logins],
    });
  return steps;
}

/** The show: setting up for the audience. */
export const showSteps = (bench: Bench): Draft[] =>
  bench.show
    ? [
        {
          id: "show",
          title: "Show it",
          why: "This is what all of it was for.",
          how: [
            `Seat ${bench.show.people ?? "the"} people so that the last can read ${bench.show.terminal?.name ?? "the screen"}; cover the switches.`,
            "`rouse show JOB` lists what to type and say, the waits to talk through, and the latest moment to start.",
            "A second disk, written and verified, lies ready; so does a capture to replay if the machine will not.",
          ],
          expected: "The audience sees the login, and what follows it.",
          tools: ["script", "second disk", "capture to replay"],
          time: 30,
          say: "Tell what is happening; replay the captured session, and look for the fault afterwards.",
          checks: ["login-wait", "legibility", "screen-fill", "terminal-width"],
          rests: [bench.show, bench.terminals],
        },
      ]
    : [];

/** The machine as it was, and the record packed. */
export function backSteps(bench: Bench): Draft[] {
  const off =
    bench.computer?.mains === "inside"
      ? "Disk out, then computer, drive and terminal off; pull the mains plug and keep it in sight; wait until the rails measure below 1 V."
      : "Disk out, then computer, drive and terminal off; pull the supply's plug.";
  const steps: Draft[] = [
    {
      id: "put-back/off",
      title: "Switch off",
      why: "A head that is let down or a write that is cut short costs a disk.",
      how: ["Log everyone out; wait until the drive is at rest.", off],
      expected: "Everything off and unplugged.",
      time: 3,
      say: "A supply that stays charged is discharged through a resistor, never with a screwdriver.",
      rests: [bench.computer?.mains],
    },
  ];
  for (const { board, undo } of bench.computer ? fittingsOf(bench.computer) : [])
    if (undo.length > 0)
      steps.push({
        id: `put-back/${board}`,
        title: `Take ${board} back out`,
        why: "What was changed is undone, unless the keeper decided that it stays.",
        how: undo,
        expected: "As on the photographs of before.",
        tools: ["photographs of before", "chip extractor", "grounded mat and wrist strap"],
        time: 10,
        say: "Stop where it differs from the photographs; the log says what was done in which order.",
        checks: ["board-fitting"],
        rests: [undo],
      });
  steps.push({
    id: "put-back/record",
    title: "Pack the record",
    why: "The next keeper must know what was done, and what the machine measured.",
    how: [
      "Copy photographs and captures into the job folder; note what was odd.",
      "`rouse pack JOB BAG`, then `rouse verify BAG`.",
    ],
    expected: "The bag is whole.",
    tools: [],
    time: 10,
    say: "`rouse verify BAG` names the file that differs.",
    rests: [bench.name],
  });
  return steps;
}

import { type CauseDraft, type Kit, liveInside } from "../kit.ts";
import { RATES, WEAR } from "../rates.ts";

/** Drive, medium, image, and the way to them. */
export function diskCauses(kit: Kit): CauseDraft[] {
  const { drive, bus, image, computer } = kit;
  return [
    ...(drive ? driveCauses(kit) : []),
    ...(bus ? busCauses(kit) : []),
    ...(image ? imageCauses(kit) : []),
    ...(computer && image ? systemCauses(kit) : []),
    {
      id: "other",
      link: "system",
      part: "something that is not listed here",
      class: "other",
      weight: 1,
      faults: ["cpu", "ram", "wireOut", "read", "boot", "login"].map((node) => [node, "dead", 1] as const),
      remedy: "Write down what was measured, and ask somebody who knows this machine.",
    },
  ];
}

function driveCauses(kit: Kit): CauseDraft[] {
  const { name, path } = kit.drive!;
  const about = { link: "drive", class: "part", at: path, about: name } as const;
  const opened = liveInside(kit);
  return [
    {
      ...about,
      id: `drive-supply/${name}`,
      part: `supply of ${name}`,
      weight: RATES.electrolytic * 3,
      rate: `its electrolytic, ${RATES.electrolytic} failures in 10⁶ h × 3 (judgement)`,
      faults: [
        ["drivePower", "dead", 0.8],
        ["drivePower", "cold", 0.2],
      ],
      remedy: `Lead, fuse and plug of ${name} first, with its plug pulled; then its rails, off load.`,
      hazards: opened,
    },
    {
      ...about,
      id: `motor/${name}`,
      part: `motor, belt or speed of ${name}`,
      weight: RATES.motor * WEAR.motor,
      rate: `motor, ${RATES.motor} failures in 10⁶ h × ${WEAR.motor} for how seldom it turns (judgement)`,
      faults: [
        ["spin", "wrong", 0.5],
        ["spin", "dead", 0.3],
        ["spin", "warm", 0.2],
      ],
      remedy: `Replace the belt, oil nothing that ran dry from the start, and set the speed of ${name} by the strobe disc or by \`rouse time\`.`,
    },
    {
      ...about,
      id: `arm/${name}`,
      part: `head carriage of ${name}`,
      weight: 0.05,
      faults: [
        ["arm", "dead", 0.6],
        ["arm", "sometimes", 0.4],
      ],
      remedy: `Power off; move the carriage of ${name} gently along its rails, clean them, a trace of fresh grease.`,
    },
    {
      ...about,
      id: `drive-board/${name}`,
      part: `electronics of ${name}`,
      weight: 0.08,
      faults: [
        ["driveLogic", "dead", 0.8],
        ["driveLogic", "warm", 0.2],
      ],
      remedy: `Try another drive; the board of ${name} is then worked through like a computer's.`,
      hazards: ["static"],
    },
    {
      ...about,
      id: `head/${name}`,
      part: `dirty head of ${name}`,
      class: "disk",
      weight: 0.2,
      faults: [
        ["head", "wrong", 0.7, 0.9],
        ["head", "sometimes", 0.3],
      ],
      remedy: `Clean the heads of ${name} with the cleaner of its kind, and look at what came off.`,
    },
    {
      ...about,
      id: `alignment/${name}`,
      part: `alignment of ${name}`,
      class: "disk",
      weight: 0.06,
      faults: [["head", "wrong", 1, 0.9]],
      remedy: `Write the disk in this drive itself, or have ${name} aligned against a reference disk.`,
    },
  ];
}

function busCauses({ bus, drive }: Kit): CauseDraft[] {
  const about = { link: "bus", about: bus!.name, at: bus!.path } as const;
  const others = bus!.devices.filter(
    ({ name, address }) => address !== 0 && name !== drive?.name && !/computer|controller/i.test(name),
  );
  return [
    {
      ...about,
      id: `bus-cable/${bus!.name}`,
      part: `cable or plug of ${bus!.name}`,
      class: "contact",
      weight: RATES.connector * 4,
      rate: `connector, ${RATES.connector} failures in 10⁶ h × 2 plugs × 2 for age (judgement)`,
      faults: [
        ["bus", "dead", 0.55],
        ["bus", "sometimes", 0.45],
      ],
      remedy: `Pull the cables of ${bus!.name}, look at the contacts, screw them down; try another cable.`,
      checks: ["bus-kind", "bus-length"],
    },
    {
      ...about,
      id: `bus-address/${bus!.name}`,
      part: `address or number of ${drive!.name} on ${bus!.name}`,
      class: "disk",
      weight: 0.05,
      faults: [["bus", "dead", 1]],
      remedy: `Set the address of ${drive!.name} to what the system asks for; no two devices may have the same.`,
      checks: ["bus-address"],
    },
    ...(others.length > 0
      ? [
          {
            ...about,
            id: `bus-neighbour/${bus!.name}`,
            part: `${others.map(({ name }) => name).join(" or ")} holds ${bus!.name}`,
            class: "disk",
            weight: 0.04,
            faults: [
              ["bus", "dead", 0.7],
              ["bus", "sometimes", 0.3],
            ],
            remedy: `Leave ${others.map(({ name }) => name).join(" and ")} unplugged, or switched on if the bus wants all devices on.`,
          } satisfies CauseDraft,
        ]
      : []),
  ];
}

function imageCauses({ image, drive }: Kit): CauseDraft[] {
  const { name, path } = image!;
  const about = { about: name, at: path, class: "disk" } as const;
  return [
    {
      ...about,
      id: `medium/${name}`,
      link: "medium",
      part: `the disk itself: worn, dirty or of the wrong kind`,
      weight: 0.18,
      faults: [
        ["medium", "wrong", 0.7, 0.9],
        ["medium", "sometimes", 0.2],
        ["medium", "dead", 0.1],
      ],
      remedy: `Write ${name} on another disk of the right kind; never an original.`,
      checks: ["medium-drive", "medium-recording"],
    },
    {
      ...about,
      id: `written/${name}`,
      link: "medium",
      part: `what was written is not ${name}`,
      weight: 0.1,
      faults: [["written", "wrong", 1, 0.95]],
      remedy: `\`rouse write JOB\` writes ${name} again and reads all of it back.`,
    },
    {
      ...about,
      id: `recording/${name}`,
      link: "drive",
      part: `recording of ${name} that ${drive?.name ?? "the drive"} cannot read`,
      weight: 0.05,
      faults: [["written", "dead", 1]],
      remedy: `Use a drive with the sides, tracks and code that ${name} was recorded in.`,
      checks: ["drive-sides", "drive-recording", "image-size"],
    },
    {
      ...about,
      id: `image/${name}`,
      link: "image",
      part: `damage in ${name}`,
      weight: 0.08,
      faults: [["image", "wrong", 1, 0.95]],
      remedy: `\`rouse look\` says which files of ${name} are damaged; take another copy, or mend it into a new image.`,
      checks: ["image-whole"],
    },
  ];
}

function systemCauses({ image }: Kit): CauseDraft[] {
  return [
    {
      id: "needs",
      link: "system",
      part: `something that the system on ${image!.name} needs and this bench lacks`,
      class: "system",
      weight: 0.3,
      faults: [["needs", "dead", 1, 0.97]],
      remedy: "`rouse check JOB` lists what the system needs: CPU, memory, boards, files.",
      checks: [
        "system-boot",
        "system-cpu",
        "system-files",
        "system-modules",
        "memory-needs",
        "memory-room",
        "memory-translation",
      ],
    },
    {
      id: "start-up",
      link: "system",
      part: `start-up files or port settings of the system`,
      class: "system",
      weight: 0.2,
      faults: [
        ["login", "dead", 0.7],
        ["system", "dead", 0.3],
      ],
      remedy:
        "Compare the start-up script and the port's settings on the image with the bench; `rouse look --system` shows both.",
      checks: ["port-descriptor", "terminal-controls"],
    },
  ];
}

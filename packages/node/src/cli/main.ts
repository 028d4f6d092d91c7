import { commandOf, type Verbs } from "./command.ts";

const VERBS: Verbs = {
  check: { about: "work out whether the chain reaches the login, and what stops it", load: () => import("./check.ts") },
  look: { about: "say what an image holds, whether it is whole, and show its files", load: () => import("./look.ts") },
  extract: { about: "copy files off an image into a folder", load: () => import("./extract.ts") },
  time: { about: "say how long boot, login, loading, formatting and writing take", load: () => import("./time.ts") },
  rehearse: { about: "run the bench as a machine, with its ROMs and image", load: () => import("./rehearse.ts") },
  track: {
    about: "lay a track out: fields, gaps, what is left at the drive's tolerance",
    load: () => import("./track.ts"),
  },
  recover: { about: "recover sectors from a sampled read line", load: () => import("./recover.ts") },
  write: { about: "write an image onto a real disk, and verify it", load: () => import("./write.ts") },
  make: { about: "make a disk image from a folder, of any of four kinds", load: () => import("./make.ts") },
  mend: { about: "mend an image into a new one, and list what was changed", load: () => import("./mend.ts") },
  compare: { about: "tell two images apart, by blocks and by files", load: () => import("./compare.ts") },
  new: { about: "write a bench file, with questions or after the demo", load: () => import("./new.ts") },
  open: { about: "open the workbench on a job folder in the browser", load: () => import("./open.ts") },
  memory: { about: "show what the CPU sees, and which chip answers an address", load: () => import("./memory.ts") },
  boards: {
    about: "show supply, bus loads, timing, and how an added board is fitted",
    load: () => import("./boards.ts"),
  },
  diag: { about: "write test programs made for this bench", load: () => import("./diag.ts") },
  prove: {
    about: "put faults into the simulated bench, and see what the tests find",
    load: () => import("./prove.ts"),
  },
  suspects: { about: "name the bad part from what a test program printed", load: () => import("./suspects.ts") },
  rates: {
    about: "list the rates a port can make, with dividers and register values",
    load: () => import("./rates.ts"),
  },
  cable: { about: "say what a cable joins, design the one to solder, draw it", load: () => import("./cable.ts") },
  listen: {
    about: "tell rate, frame and polarity of a line, at a port or from a capture",
    load: () => import("./listen.ts"),
  },
  ports: { about: "list the serial ports of this computer", load: () => import("./ports.ts") },
  talk: { about: "talk to what is at the other end of a line, and keep the session", load: () => import("./talk.ts") },
  send: { about: "send files over a line", load: () => import("./send.ts") },
  receive: { about: "receive files over a line", load: () => import("./receive.ts") },
  "line-test": {
    about: "measure bit errors of a line at each rate, and its control lines",
    load: () => import("./line-test.ts"),
  },
  bridge: { about: "make a terminal usable that is smaller than the program", load: () => import("./bridge.ts") },
  terminal: {
    about: "say which control functions a session uses, and what a terminal makes of them",
    load: () => import("./terminal.ts"),
  },
  plan: { about: "list the steps of the bring-up, and keep what was done at each", load: () => import("./plan.ts") },
  why: {
    about: "rank why the bench does not start, and propose the next test",
    load: () => import("./why.ts"),
  },
  show: { about: "time the script of the show, and say when to start", load: () => import("./show.ts") },
  replay: {
    about: "show a captured session again, or write it as page, captions, still or text",
    load: () => import("./replay.ts"),
  },
  assemble: { about: "assemble a 6809, 6502 or Z80 program, with its cycles", load: () => import("./assemble.ts") },
  pack: { about: "pack the record of a job into a bag, with checksums", load: () => import("./pack.ts") },
  verify: { about: "verify that a bag is whole", load: () => import("./verify.ts") },
  catalogue: {
    about: "list chips, drives, media and other parts, each value with its source",
    load: () => import("./catalogue.ts"),
  },
  schema: { about: "print the JSON Schema of the bench file or of the report", load: () => import("./schema.ts") },
};

export const run = commandOf(VERBS);

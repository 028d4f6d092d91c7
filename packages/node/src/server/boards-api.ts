import type { Bench, BenchComputer } from "@rouse/core/bench";
import {
  type BusTiming,
  busTimings,
  type FanOut,
  type Fitting,
  fanOuts,
  fittingsOf,
  type RailState,
  railStates,
} from "@rouse/core/board";
import { InputError } from "@rouse/core/errors";
import { allChecks, cautionsFor, type Finding, fitChain } from "@rouse/core/fit";
import { quantity } from "@rouse/core/quantity";
import { Hono } from "hono";
import { jobCatalogue } from "../job/index.ts";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { checkedJobs } from "./job-timing.ts";
import { badRequest, jsonObject } from "./json-body.ts";

type ReadTold =
  | (Omit<BusTiming, "path"> & { name: string; region: string; key: string; waits: number })
  | { name: string; region: string; key: string; missing: readonly string[] };

interface BoardsTold {
  rails: readonly RailState[];
  /** The driver by its part number. */
  lines: readonly (Omit<FanOut, "driver"> & { driver?: string })[];
  reads: readonly ReadTold[];
  fittings: readonly Fitting[];
  /** What the chain's checks of the boards say of the tried values. */
  findings: readonly Pick<Finding, "id" | "verdict" | "sentence" | "remedy">[];
  cautions: ReturnType<typeof cautionsFor>;
  /** Of the bench itself, in Hz and °C, where it says so. */
  clock?: number;
  ambient?: number;
}

/** The bench's computer with another clock, in Hz, and another air temperature inside the case, in °C. */
function tried(computer: BenchComputer, clock: number | undefined, ambient: number | undefined): BenchComputer {
  const was = computer.cpu?.clock?.high;
  return {
    ...computer,
    ...(clock === undefined || !computer.cpu ? {} : { cpu: { ...computer.cpu, clock: quantity(clock, "frequency") } }),
    // A strobe that the clock gives keeps its place in the cycle.
    paths: computer.paths.map((path) =>
      clock === undefined || was === undefined || !path.starts
        ? path
        : { ...path, starts: quantity((path.starts.high * was) / clock, "time") },
    ),
    rails: computer.rails.map((rail) =>
      ambient === undefined || !rail.regulator
        ? rail
        : { ...rail, regulator: { ...rail.regulator, ambient: quantity(ambient, "temperature") } },
    ),
  };
}

function numberIn(body: Readonly<Record<string, unknown>>, name: string, from: number, to: number): number | undefined {
  const value = body[name];
  if (value === undefined) return undefined;
  if (typeof value !== "number" || !(value >= from && value <= to))
    throw badRequest(`"${name}" must be a number from ${from} to ${to}.`);
  return value;
}

/**
 * Route of the boards page. `clock` in Hz and `ambient` in °C are tried in place of the bench's own.
 *
 *     POST boards   {clock?, ambient?}   BoardsTold
 */
export function createBoardsApi(job: Job): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const checkedNow = checkedJobs(job);
  api.post("/boards", async (c) => {
    const body = await jsonObject(c);
    const clock = numberIn(body, "clock", 1e3, 1e9);
    const ambient = numberIn(body, "ambient", -50, 150);
    const { bench } = (await checkedNow()).checked;
    if (!bench) throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
    const own = bench.computer;
    if (!own || own.boards.length + own.paths.length === 0)
      throw new InputError(
        "no-boards",
        "This bench does not describe the computer's boards; describe them under computer.boards.",
      );
    const now: Bench & { computer: BenchComputer } = { ...bench, computer: tried(own, clock, ambient) };
    const catalogue = await jobCatalogue(job);
    const checks = allChecks().filter(({ link }) => link === "board");
    const air = own.rails.find((each) => each.regulator?.ambient)?.regulator?.ambient?.high;
    const told: BoardsTold = {
      rails: railStates(now.computer),
      lines: fanOuts(now.computer).map(({ driver, ...rest }) => ({
        ...rest,
        ...(driver ? { driver: driver.part } : {}),
      })),
      reads: busTimings(now, catalogue).map((each): ReadTold => {
        const { name, region, path: key, waits } = each.path;
        if ("missing" in each) return { name, region, key, missing: each.missing };
        const { path, ...rest } = each;
        return { ...rest, name, region, key, waits };
      }),
      fittings: fittingsOf(own),
      findings: fitChain({ bench: now, catalogue, images: [] }, checks)
        .links.flatMap(({ findings }) => findings)
        .map(({ id, verdict, sentence, remedy }) => ({ id, verdict, sentence, ...(remedy ? { remedy } : {}) })),
      cautions: cautionsFor(bench).filter((each) => each.code !== "picture-tube"),
      ...(own.cpu?.clock ? { clock: own.cpu.clock.high } : {}),
      ...(air === undefined ? {} : { ambient: air }),
    };
    return c.json(told);
  });
  return api;
}

import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { InputError } from "@rouse/core/errors";
import { DEFAULT_PORT, openWorkbench } from "../server/index.ts";
import { openJob } from "../store/index.ts";
import { writeFault } from "./fault.ts";
import type { Verb } from "./verb.ts";

/** Opens an address in the person's browser where there is one; failing is no fault. */
function openBrowser(address: string): void {
  const [command, args] =
    process.platform === "darwin"
      ? ["open", [address]]
      : process.platform === "win32"
        ? ["cmd", ["/c", "start", "", address]]
        : ["xdg-open", [address]];
  spawn(command as string, args as string[], { stdio: "ignore", detached: true })
    .on("error", () => {})
    .unref();
}

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Serves the workbench on this computer only and prints its address, which carries a token for this run.",
    "The page shows the chain, the images and the bench file, and follows changes made in any editor. Ctrl-C ends it.",
  ],
  options: {
    port: { type: "string", value: "N", about: `port to listen on (${DEFAULT_PORT}, or the next free one)` },
    "no-browser": { type: "boolean", about: "only print the address" },
  },
  examples: [["rouse open demo/first-try", "the demo bench in the browser"]],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const port = values.port === undefined ? DEFAULT_PORT : Number(values.port);
    if (!Number.isInteger(port) || port < 0 || port > 65_535)
      throw new InputError("bad-port", `“${values.port}” is not a port number.`);
    const webRoot = fileURLToPath(new URL("../../web/dist/", import.meta.url));
    if (!existsSync(webRoot))
      throw new InputError("no-page", "The workbench is not built yet: run `npm run build` in the clone.");
    const job = await openJob(positionals[0] ?? ".");
    const bench = await openWorkbench(job, {
      port,
      webRoot,
      tellFault: (id, error) => {
        process.stderr.write(
          `rouse: fault ${id}; a report that can be sent is in ${writeFault(error, process.argv.slice(2))}\n`,
        );
      },
    });
    out.line(`The workbench is open at ${bench.address}`);
    out.line("It listens on this computer only. Ctrl-C ends it.");
    if (!values["no-browser"] && process.stdout.isTTY) openBrowser(bench.address);
    await new Promise<void>((resolve) => {
      for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, resolve);
    });
    await bench.close();
    return 0;
  },
};

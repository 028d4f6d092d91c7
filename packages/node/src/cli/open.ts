import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { InputError } from "@rouse/core/errors";
import { DEFAULT_PORT, openWorkbench } from "../server/index.ts";
import { openJob } from "../store/index.ts";
import { writeFault } from "./fault.ts";
import { stdoutIsScreen } from "./stdout.ts";
import { wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

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

/** Says what it risks, where a phone has to go, and the code. */
async function letPhonesIn({ phones, close }: Awaited<ReturnType<typeof openWorkbench>>, out: Output): Promise<void> {
  try {
    const { open, risks } = await phones.open();
    out.line();
    for (const risk of risks) for (const line of wrap(`▲ ${risk}`, out.width, "  ")) out.line(line);
    out.line();
    out.line(`On the phone, open ${open?.address} and type ${spaced(open?.code?.code ?? "")}`);
    out.line("The code lets one phone in, for five minutes; the page Run book makes more. Ctrl-C ends it all.");
  } catch (error) {
    await close();
    throw error;
  }
}

const spaced = (code: string): string => `${code.slice(0, 3)} ${code.slice(3)}`;

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Serves the workbench on this computer only and prints its address, which carries a token for this run.",
    "The page shows the chain, the images and the bench file, and follows changes made in any editor. Ctrl-C ends it.",
    "With --phone it also lets phones on the same network see the run book and add to it, by a code that is shown here.",
  ],
  options: {
    port: { type: "string", value: "N", about: `port to listen on (${DEFAULT_PORT}, or the next free one)` },
    phone: { type: "boolean", about: "let phones on the local network come in by a code; says what that risks" },
    "no-browser": { type: "boolean", about: "only print the address" },
  },
  examples: [
    ["rouse open demo/first-try", "the demo bench in the browser"],
    ["rouse open JOB --phone", "the same, with the run book on a phone at the bench"],
  ],
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
    if (values.phone) await letPhonesIn(bench, out);
    else out.line("It listens on this computer only. Ctrl-C ends it.");
    if (!values["no-browser"] && stdoutIsScreen()) openBrowser(bench.address);
    await new Promise<void>((resolve) => {
      for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, resolve);
    });
    await bench.close();
    return 0;
  },
};

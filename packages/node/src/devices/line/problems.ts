import { constants } from "node:fs";
import { open, readdir, readFile, readlink, realpath, stat } from "node:fs/promises";
import { userInfo } from "node:os";
import { isatty } from "node:tty";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { formatValue } from "@rouse/core/quantity";

const MOST_RATE_ERROR = 0.025;

/** A group's name by its number, from the system's table. */
function groupName(table: string, id: number): string | undefined {
  for (const line of table.split("\n")) {
    const [name, , number] = line.split(":");
    if (name && number === String(id)) return name;
  }
  return undefined;
}

/** Programs that hold a device open, where the system tells: number and name. Only those that we may look at. */
export async function holdersOf(path: string, proc = "/proc"): Promise<{ pid: number; name: string }[]> {
  const device = await realpath(path).catch(() => path);
  const pids = (await readdir(proc).catch(() => [])).filter((each) => /^\d+$/.test(each));
  const found = await Promise.all(
    pids.map(async (pid) => {
      const files = await readdir(`${proc}/${pid}/fd`).catch(() => []);
      for (const file of files) {
        if ((await readlink(`${proc}/${pid}/fd/${file}`).catch(() => "")) !== device) continue;
        const name = await readFile(`${proc}/${pid}/comm`, "utf8").catch(() => "");
        return [{ pid: Number(pid), name: name.trim() }];
      }
      return [];
    }),
  );
  return found.flat().filter((each) => each.pid !== process.pid);
}

/** What to do about a port that its owner keeps from this user. `found`: what the system says of the port's file. */
export function permissionSentence(
  path: string,
  found: { mode: number; gid: number } | undefined,
  groups: string,
  user: string,
): string {
  const start = `You may not open ${visible(path)}`;
  const group = found && found.gid !== 0 && (found.mode & 0o060) === 0o060 ? groupName(groups, found.gid) : undefined;
  return group
    ? `${start}: it belongs to the group “${group}”. Join it with \`sudo usermod -aG ${group} ${user}\`, then log in again.`
    : `${start}: only the system's administrator may, by its permissions.`;
}

async function noPermission(path: string): Promise<InputError> {
  const found = await stat(path).catch(() => undefined);
  const groups = await readFile("/etc/group", "utf8").catch(() => "");
  let user = "YOUR-NAME";
  try {
    user = userInfo().username;
  } catch {
    // A user number without a name.
  }
  return new InputError("no-permission", permissionSentence(path, found, groups, user));
}

async function busy(path: string): Promise<InputError> {
  const holders = await holdersOf(path);
  const names = holders.map((each) => `“${visible(each.name)}” (process ${each.pid})`);
  const by = names.length === 0 ? "by another program" : `by ${names.join(" and ")}`;
  return new InputError("port-busy", `${visible(path)} is in use ${by}; end that first.`);
}

/** Neither a port nor anything like one: a file, a folder, another kind of device. */
async function isNoPort(path: string): Promise<boolean> {
  if (process.platform === "win32") return false;
  const file = await open(path, constants.O_RDONLY | constants.O_NOCTTY | constants.O_NONBLOCK).catch(() => undefined);
  if (!file) return false;
  try {
    return !isatty(file.fd);
  } finally {
    await file.close();
  }
}

/** The sentence for a person about a port that did not open, or failed later. */
export async function portProblem(error: unknown, path: string, rate: number): Promise<Error> {
  if (error instanceof InputError) return error;
  const text = error instanceof Error ? error.message : String(error);
  const shown = visible(path);
  if (/permission denied|EACCES|EPERM|access is denied/i.test(text)) return noPermission(path);
  if (/lock|busy|EBUSY|temporarily unavailable/i.test(text)) return busy(path);
  if (/no such file|ENOENT|file not found/i.test(text))
    return new InputError("no-port", `There is no port ${shown}; \`rouse ports\` lists those that are there.`);
  if (/EIO|ENXIO|EBADF|ENODEV|port is (closed|not open)/i.test(text))
    return new InputError("port-gone", `${shown} went away; is the adapter plugged in?`);
  if (/baud|custom rate|is a directory/i.test(text))
    return (await isNoPort(path))
      ? new InputError("not-a-port", `${shown} is not a serial port; \`rouse ports\` lists those that are there.`)
      : new InputError("no-rate", `${shown} cannot be set to ${formatValue(rate, "rate")}.`);
  if (/invalid (stop|data) bits|invalid parity/i.test(text))
    return new InputError("no-frame", `${shown} cannot be set to these data bits, parity and stop bits.`);
  if (/inappropriate ioctl|ENOTTY|not a (tty|typewriter)/i.test(text))
    return new InputError("not-a-port", `${shown} is not a serial port, or has no such setting.`);
  return new InputError("port-fault", `${shown}: ${visible(text.replace(/^(Error:? ?)+/, "")).replace(/\.?$/, ".")}`);
}

/** What to say where an adapter took a rate but runs at another; undefined where the two are near enough. */
export function rateProblem(path: string, asked: number, has: number): InputError | undefined {
  if (!(has > 0) || Math.abs(has / asked - 1) <= MOST_RATE_ERROR) return undefined;
  return new InputError(
    "no-rate",
    `${visible(path)} does not make ${formatValue(asked, "rate")}; the nearest that it has is ${formatValue(has, "rate")}.`,
  );
}

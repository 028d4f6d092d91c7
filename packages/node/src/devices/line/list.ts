import { readdir, readFile, readlink, realpath } from "node:fs/promises";
import { basename, dirname, join } from "node:path";

export interface ListedPort {
  path: string;
  /** What the adapter says of itself, or the driver's name. */
  about: string;
  /** The adapter's own number, which stays the same in every socket. */
  serial?: string;
}

const text = (path: string): Promise<string> =>
  readFile(path, "utf8").then(
    (found) => found.trim(),
    () => "",
  );
const LEVELS_UP = 4;

/** What the USB device above a port says of itself. */
async function usbWords(device: string): Promise<{ about: string; serial: string } | undefined> {
  let folder = device;
  for (let level = 0; level < LEVELS_UP; level++) {
    const product = await text(join(folder, "product"));
    if (product) return { about: product, serial: await text(join(folder, "serial")) };
    folder = dirname(folder);
  }
  return undefined;
}

/** Serial ports by the kernel's own list. `root` is where its tables are. */
export async function portsOfKernel(root = "/sys/class/tty"): Promise<ListedPort[]> {
  const names = await readdir(root).catch(() => []);
  const found = await Promise.all(
    names.map(async (name): Promise<ListedPort[]> => {
      const driver = await readlink(join(root, name, "device/driver")).catch(() => undefined);
      if (driver === undefined) return [];
      // The driver of built-in ports lists more than there are: type 0 is none.
      if ((await text(join(root, name, "type"))) === "0") return [];
      const usb = await usbWords(await realpath(join(root, name, "device")));
      return [
        {
          path: `/dev/${name}`,
          about: usb?.about ?? `driver ${basename(driver)}`,
          ...(usb?.serial ? { serial: usb.serial } : {}),
        },
      ];
    }),
  );
  return found.flat().sort((a, b) => a.path.localeCompare(b.path, "en", { numeric: true }));
}

/** The serial ports of this host. */
export async function listPorts(): Promise<ListedPort[]> {
  if (process.platform === "linux") return portsOfKernel();
  const { SerialPort } = await import("serialport");
  return (await SerialPort.list()).map(({ path, manufacturer, serialNumber }) => ({
    path,
    about: manufacturer ?? "",
    ...(serialNumber ? { serial: serialNumber } : {}),
  }));
}

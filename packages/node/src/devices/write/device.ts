import { constants } from "node:fs";
import { type FileHandle, open, stat } from "node:fs/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";

/** Something with blocks that can be read and written at any place: a block device, or a file that stands for one. */
export interface BlockDevice {
  /** Whether reads go past the host's cache to the device itself. */
  direct: boolean;
  /** Fewer bytes at the end of the device. */
  read(offset: number, length: number): Promise<Uint8Array>;
  /** Gives how many bytes were taken; fewer than offered is no error. */
  write(offset: number, bytes: Uint8Array): Promise<number>;
  /** Waits until what was written has left the host. */
  sync(): Promise<void>;
  close(): Promise<void>;
}

/** Opens targets. Tests put devices in its place that fail, lie, or count what is opened. */
export interface DeviceOpener {
  open(path: string, mode: "read" | "read past the cache" | "write" | "create"): Promise<BlockDevice>;
}

const ALIGNMENT = 4096;

/**
 * A buffer whose address suits reads past the cache, found by trying: JavaScript does not tell addresses. Undefined
 * where the file system does not offer such reads.
 */
async function alignedBuffer(handle: FileHandle, length: number): Promise<Buffer | undefined> {
  const whole = Math.ceil(length / ALIGNMENT) * ALIGNMENT;
  const room = Buffer.allocUnsafeSlow(whole + ALIGNMENT);
  for (let start = 0; start < ALIGNMENT; start += 16) {
    const part = room.subarray(start, start + whole);
    try {
      await handle.read(part, 0, ALIGNMENT, 0);
      return part;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "EINVAL") throw error;
    }
  }
  return undefined;
}

const onHandle = (handle: FileHandle): BlockDevice => ({
  direct: false,
  read: async (offset, length) => {
    const buffer = Buffer.alloc(length);
    const { bytesRead } = await handle.read(buffer, 0, length, offset);
    return buffer.subarray(0, bytesRead);
  },
  write: async (offset, bytes) => (await handle.write(bytes, 0, bytes.length, offset)).bytesWritten,
  sync: () => handle.sync(),
  close: () => handle.close(),
});

/** Largest read past the cache at once. */
const DIRECT_PART = 64 * 1024;

async function openDirect(path: string): Promise<BlockDevice | undefined> {
  let handle: FileHandle;
  try {
    handle = await open(path, constants.O_RDONLY | (constants.O_DIRECT ?? 0));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "EINVAL") return undefined;
    throw error;
  }
  const buffer = constants.O_DIRECT === undefined ? undefined : await alignedBuffer(handle, DIRECT_PART);
  if (!buffer) {
    await handle.close();
    return undefined;
  }
  return {
    ...onHandle(handle),
    direct: true,
    read: async (offset, length) => {
      const out = Buffer.alloc(length);
      let filled = 0;
      while (filled < length) {
        const at = Math.floor((offset + filled) / ALIGNMENT) * ALIGNMENT;
        const { bytesRead } = await handle.read(buffer, 0, buffer.length, at);
        const skip = offset + filled - at;
        const part = buffer.subarray(skip, Math.min(bytesRead, skip + length - filled));
        if (part.length === 0) break;
        part.copy(out, filled);
        filled += part.length;
      }
      return out.subarray(0, filled);
    },
  };
}

/** Opens for real. Throws an `InputError` with one sentence for what a person meets. */
export const realOpener: DeviceOpener = {
  async open(path, mode) {
    try {
      if (mode === "read past the cache") {
        const direct = await openDirect(path);
        if (direct) return direct;
      }
      // A block device is claimed: whoever mounted it meanwhile keeps it, and none can while it is written (open(2), O_EXCL).
      const claim = mode === "write" && (await stat(path)).isBlockDevice() ? constants.O_EXCL : 0;
      const flags =
        mode === "write"
          ? constants.O_RDWR | claim
          : mode === "create"
            ? constants.O_RDWR | constants.O_CREAT | constants.O_EXCL
            : constants.O_RDONLY;
      return onHandle(await open(path, flags, 0o644));
    } catch (error) {
      const code = (error as NodeJS.ErrnoException).code;
      const shown = visible(path);
      if (code === "ENOENT") throw new InputError("no-target", `${shown} does not exist.`);
      if (code === "EACCES" || code === "EPERM")
        throw new InputError(
          "no-permission",
          `${shown} may not be opened by you; on most systems the group “disk” or “floppy” may, or root.`,
        );
      if (code === "EBUSY") throw new InputError("busy", `${shown} is in use by another program.`);
      if (code === "EROFS")
        throw new InputError("read-only", `${shown} is read-only; look at the disk's write-protect tab.`);
      if (code === "ENOMEDIUM") throw new InputError("no-medium", `There is no disk in ${shown}.`);
      throw error;
    }
  },
};

import { decodeText, dump } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { type ImageReport, imageReport } from "@rouse/core/fit";
import { isText } from "@rouse/core/system";
import { parseAddress, resolveAddress } from "@rouse/core/volume";
import { checkJob, type ImageCache } from "../job/index.ts";
import { hostName, IMAGES_FOLDER, type Job, listFiles, readBench, readImage, saveBench } from "../store/index.ts";
import { createApp } from "./app.ts";
import { newToken } from "./guard.ts";
import { createLive } from "./live.ts";
import type { FileAs, ImageFile, Services } from "./services.ts";
import { startServer } from "./start.ts";
import { watchJob } from "./watch.ts";

/** Bytes of a file shown as text or hex at once; the rest is had by saving it. */
const SHOWN = 64 * 1024;
/** Reports of images kept, by hash. */
const KEPT = 16;

/** What the routes ask for, over a job folder. */
export function jobServices(job: Job): Services {
  const surveyed: ImageCache = new Map();
  const reports = new Map<string, ImageReport>();
  const bytesOf = (name: string) => readImage({ job, name });
  return {
    benchText: () => readBench(job),
    saveBench: (text, expectedHash) => saveBench(job, text, expectedHash),
    report: async (text) => {
      if (surveyed.size > KEPT) surveyed.clear();
      return (await checkJob(job, text, surveyed)).report;
    },
    images: () => listFiles(job, IMAGES_FOLDER),
    imageReport: async (name) => {
      const { bytes, sha256 } = await bytesOf(name);
      const known = reports.get(`${sha256} ${name}`) ?? imageReport(name, bytes, sha256);
      if (reports.size > KEPT) reports.clear();
      reports.set(`${sha256} ${name}`, known);
      return known;
    },
    imageBytes: async (name, offset, length) => {
      const { bytes, size } = await bytesOf(name);
      return { bytes: bytes.subarray(offset, offset + length), size };
    },
    imageFile: async (name, address, as) => fileOf((await bytesOf(name)).bytes, address, as),
    schema: async () => (await import("@rouse/core/bench")).benchJsonSchema(),
  };
}

function fileOf(image: Uint8Array, address: string, as: FileAs): ImageFile {
  const { volume, entry } = resolveAddress(image, parseAddress(`:${address}`).parts);
  if (!volume || entry?.type !== "file") throw new InputError("not-a-file", `${address} is not a file on this image.`);
  const { bytes, condition, missing } = volume.read(entry);
  if (as === "bytes") return { as, bytes, fileName: hostName(entry.name) };
  const part = bytes.subarray(0, SHOWN);
  const about = { path: entry.path, size: bytes.length, shown: part.length, condition, missing, isText: isText(bytes) };
  return as === "text"
    ? { as, view: { ...about, text: decodeText(part, "plain") } }
    : { as, view: { ...about, rows: dump(part) } };
}

/** Opens the workbench on a job: a server on loopback that follows the folder. */
export async function openWorkbench(
  job: Job,
  options: { port: number; webRoot: string; tellFault: (error: unknown) => void },
): Promise<{ address: string; close(): Promise<void> }> {
  const token = newToken();
  const live = createLive(newToken().slice(0, 8));
  const services = jobServices(job);
  const server = await startServer(
    (port) =>
      createApp({
        port,
        token,
        webRoot: options.webRoot,
        services,
        live,
        tellFault: (_id, fault) => options.tellFault(fault),
      }),
    { port: options.port },
  );
  const watching = await watchJob(job, (what) => live.tell(what));
  return {
    address: `${server.address}?token=${token}`,
    close: async () => {
      watching.close();
      await server.close();
    },
  };
}

import { createHash } from "node:crypto";
import { decodeText, dump } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { drawingOf, type ImageReport, imageReport } from "@rouse/core/fit";
import { isText } from "@rouse/core/system";
import { parseAddress, resolveAddress } from "@rouse/core/volume";
import { type DeviceOpener, realOpener } from "../devices/write/index.ts";
import { checkJob, type ImageCache } from "../job/index.ts";
import { hostName, IMAGES_FOLDER, type Job, listFiles, readBench, readImage, saveBench } from "../store/index.ts";
import { createApp } from "./app.ts";
import { createBoardsApi } from "./boards-api.ts";
import { createDiskApi } from "./disk-api.ts";
import { newToken } from "./guard.ts";
import { createLineApi } from "./line-api.ts";
import { createLineDesk, type LineSource, realLines } from "./line-desk.ts";
import { createLive } from "./live.ts";
import { createMemoryApi } from "./memory-api.ts";
import { createPhones, type Phones } from "./phone.ts";
import { createPhoneApi } from "./phone-api.ts";
import { createRehearseApi } from "./rehearse-api.ts";
import { createRunBook } from "./runbook.ts";
import { createRunBookApi } from "./runbook-api.ts";
import type { FileAs, ImageFile, Services } from "./services.ts";
import { createShow } from "./show.ts";
import { createShowApi } from "./show-api.ts";
import { createPrompters } from "./show-prompter.ts";
import { startServer } from "./start.ts";
import { createTimeApi } from "./time-api.ts";
import { watchJob } from "./watch.ts";
import { createWhyApi } from "./why-api.ts";
import { createWriteApi } from "./write-api.ts";
import { createWriting } from "./writing.ts";

/** Bytes of a file shown as text or hex at once; the rest is had by saving it. */
const SHOWN = 64 * 1024;
/** Reports of images kept, by hash. */
const KEPT = 16;

/** What the routes ask for, over a job folder. */
function jobServices(job: Job): Services {
  const surveyed: ImageCache = new Map();
  const reports = new Map<string, ImageReport>();
  const bytesOf = (name: string) => readImage({ job, name });
  return {
    benchText: () => readBench(job),
    saveBench: (text, expectedHash) => saveBench(job, text, expectedHash),
    report: async (text) => {
      if (surveyed.size > KEPT) surveyed.clear();
      const { report, bench } = await checkJob(job, text, surveyed);
      return { ...report, drawing: bench ? drawingOf(bench) : null };
    },
    images: () => listFiles(job, IMAGES_FOLDER),
    imageReport: async (name, address = "") => {
      const { bytes, sha256 } = await bytesOf(name);
      const key = `${sha256} ${name}:${address}`;
      const known = reports.get(key) ?? reportWithin(name, bytes, sha256, address);
      if (reports.size > KEPT) reports.clear();
      reports.set(key, known);
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

/** Report of an image, or of the volume in one of its files: then `address` ends in a colon. */
function reportWithin(name: string, image: Uint8Array, sha256: string, address: string): ImageReport {
  if (address === "") return imageReport(name, image, sha256);
  const inner = resolveAddress(image, parseAddress(`:${address}`).parts);
  if (inner.entry) throw new InputError("not-a-volume", `${address} names a file; end it with a colon to look inside.`);
  return imageReport(`${name}:${address}`, inner.image, createHash("sha256").update(inner.image).digest("hex"));
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
  options: {
    port: number;
    webRoot: string;
    tellFault: (id: string, error: unknown) => void;
    /** Opens targets of writes; tests put slow and failing ones in its place. */
    opener?: DeviceOpener;
    /** Serial ports; tests put doubles in their place. */
    lines?: LineSource;
    /** Networks, clock and port for phones; tests put others in their place. */
    phones?: Parameters<typeof createPhones>[1];
  },
): Promise<{ address: string; phones: Phones; close(): Promise<void> }> {
  const token = newToken();
  const live = createLive(newToken().slice(0, 8));
  const services = jobServices(job);
  const writing = createWriting(job, options.opener ?? realOpener, () => new Date(), options.tellFault);
  const desk = createLineDesk(job, options.lines ?? realLines, (error) => options.tellFault("line", error));
  const runBook = createRunBook(job, () => new Date());
  const show = createShow(job);
  const prompters = createPrompters(job, show, () => new Date());
  const phones = createPhones(
    {
      webRoot: options.webRoot,
      tellFault: options.tellFault,
      rooms: () => [createRunBookApi(runBook, { phone: true }), createShowApi(show, prompters, { phone: true })],
    },
    options.phones,
  );
  const rooms = [
    createDiskApi(job),
    createTimeApi(job),
    createMemoryApi(job),
    createBoardsApi(job),
    createWriteApi(job, writing),
    createWhyApi(job),
    createRehearseApi(job),
    createLineApi(job, desk),
    createRunBookApi(runBook),
    createShowApi(show, prompters),
    createPhoneApi(phones),
  ];
  const server = await startServer(
    (port) =>
      createApp({
        port,
        token,
        webRoot: options.webRoot,
        services,
        live,
        rooms,
        tellFault: options.tellFault,
      }),
    { port: options.port },
  );
  const watching = await watchJob(job, (what) => {
    live.tell(what);
    runBook.changed();
    prompters.changed();
  });
  return {
    address: `${server.address}?token=${token}`,
    phones,
    close: async () => {
      watching.close();
      await phones.close();
      runBook.close();
      prompters.close();
      await desk.close();
      await writing.close();
      await server.close();
    },
  };
}

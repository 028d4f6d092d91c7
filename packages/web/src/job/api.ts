import type { BenchText, FileView, ImageListed, ImageReport, WorkbenchReport } from "./types.ts";

/** What the server answered in place of what was asked: one sentence for the person. */
export class ServerProblem extends Error {
  readonly code: string;
  constructor(code: string, sentence: string) {
    super(sentence);
    this.code = code;
  }
}

const GONE = "The workbench's server does not answer; is rouse open still running?";

async function answerOf(path: string, init?: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(`/api/${path}`, init);
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new ServerProblem("gone", GONE);
  }
  if (response.ok) return response;
  const body: unknown = await response.json().catch(() => null);
  const { error } = (body ?? {}) as { error?: { code?: string; sentence?: string } };
  throw new ServerProblem(error?.code ?? "fault", error?.sentence ?? `The server answered with ${response.status}.`);
}

/** A JSON answer. Throws a `ServerProblem` with one sentence. */
export const ask = async <Answer>(path: string, init?: RequestInit): Promise<Answer> =>
  (await (await answerOf(path, init)).json()) as Answer;

/** An answer of octets. */
export const askBytes = async (path: string): Promise<Uint8Array> =>
  new Uint8Array(await (await answerOf(path)).arrayBuffer());

export const sending = (method: string, body: object, signal?: AbortSignal): RequestInit => ({
  method,
  headers: { "content-type": "application/json" },
  body: JSON.stringify(body),
  ...(signal ? { signal } : {}),
});

export const imagePath = (name: string): string => `images/${encodeURIComponent(name)}`;

export const api = {
  bench: () => ask<BenchText>("bench"),
  saveBench: (text: string, expectedHash: string) => ask<BenchText>("bench", sending("PUT", { text, expectedHash })),
  report: (text: string, signal: AbortSignal) => ask<WorkbenchReport>("report", sending("POST", { text }, signal)),
  images: () => ask<readonly ImageListed[]>("images"),
  /** `address`: of a volume inside one of the image's files, or empty. */
  imageReport: (name: string, address: string) =>
    ask<ImageReport>(`${imagePath(name)}/report${address ? `?${new URLSearchParams({ address })}` : ""}`),
  file: (name: string, address: string, as: "text" | "hex") =>
    ask<FileView>(`${imagePath(name)}/file?${new URLSearchParams({ address, as })}`),
  /** For a link that saves the file's exact bytes. */
  fileAddress: (name: string, address: string): string =>
    `/api/${imagePath(name)}/file?${new URLSearchParams({ address, as: "bytes" })}`,
};

export const sentenceOf = (error: unknown): string =>
  error instanceof ServerProblem ? error.message : "Something went wrong inside the page; load it anew.";

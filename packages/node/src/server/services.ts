/** What the routes ask for. Each call may throw `InputError`, which the page is shown; anything else is our own fault. */
import type { BenchText } from "../store/index.ts";

export interface ImageListed {
  /** Path in `images/`, parts joined by `/`: the name that the other calls take. */
  name: string;
  size: number;
  /** Why it cannot be used, where that is so. */
  problem?: string;
}

export interface ImagePart {
  bytes: Uint8Array;
  /** Of the whole image, in bytes. */
  size: number;
}

export type FileAs = "text" | "hex" | "bytes";

/** A file of a volume: to show, as JSON; or to save, under a name that the host can hold. */
export type ImageFile = { as: "text" | "hex"; view: object } | { as: "bytes"; bytes: Uint8Array; fileName: string };

export interface Services {
  benchText(): Promise<BenchText>;
  /** Throws `InputError` `bench-changed` where the file is no longer the one that `expectedHash` names. */
  saveBench(text: string, expectedHash: string): Promise<BenchText>;
  /** The chain with its findings, for the bench file as it stands or for a text not saved yet. */
  report(benchText?: string): Promise<object>;
  images(): Promise<readonly ImageListed[]>;
  /** `address`: of a volume inside one of its files (`path:`), in place of the image itself. */
  imageReport(name: string, address?: string): Promise<object>;
  /** `length` bytes from `offset`, fewer at the end of the image, none beyond it. */
  imageBytes(name: string, offset: number, length: number): Promise<ImagePart>;
  /** `address` is the file's path on the volume, `outer:inner` for a volume in a file. */
  imageFile(name: string, address: string, as: FileAs): Promise<ImageFile>;
  /** The JSON Schema of the bench file. */
  schema(): Promise<object>;
}

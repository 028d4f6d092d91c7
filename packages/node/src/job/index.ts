import { type Bench, type BenchIssue, printIssues, readBench as readBenchText } from "@rouse/core/bench";
import { type Catalogue, loadCatalogue, type UserFile } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import {
  brokenReport,
  type Chain,
  fitChain,
  type JobReport,
  makeReport,
  type RomFile,
  type SurveyedImage,
  surveyForFit,
  unreadableImage,
} from "@rouse/core/fit";
import {
  BENCH_FILE,
  CATALOGUE_FOLDER,
  IMAGES_FOLDER,
  type Job,
  listFiles,
  openInside,
  readBench,
  readImage,
  readWhole,
} from "../store/index.ts";
import { VERSION } from "./version.ts";

export { VERSION } from "./version.ts";

type ImageWithHash = SurveyedImage & { sha256: string | null };

const CATALOGUE_LIMIT = 1 << 20;

/** The catalogue with the job's own files laid over it. */
export const jobCatalogue = async (job: Job): Promise<Catalogue> => loadCatalogue(await catalogueFiles(job));

/** The job's own catalogue files, checked. YAML and validation load only where there are such files. */
export async function catalogueFiles(job: Job): Promise<UserFile[]> {
  const files = (await listFiles(job, CATALOGUE_FOLDER)).filter((each) => /\.ya?ml$/i.test(each.name));
  if (files.length === 0) return [];
  const [{ parse }, { checkUserFile }] = await Promise.all([import("yaml"), import("@rouse/core/catalogue/user")]);
  const extra: UserFile[] = [];
  for (const { name } of files) {
    const path = `${CATALOGUE_FOLDER}/${name}`;
    const handle = await openInside(job.folder, path);
    let text: string;
    try {
      text = new TextDecoder().decode(await readWhole(handle, path, CATALOGUE_LIMIT));
    } finally {
      await handle.close();
    }
    let data: unknown;
    try {
      data = parse(text, { version: "1.2" });
    } catch (error) {
      if (!(error instanceof Error) || error.name !== "YAMLParseError") throw error;
      throw new InputError("bad-catalogue", `${path}: not YAML: ${error.message.split("\n")[0]}`);
    }
    extra.push(checkUserFile(path, data));
  }
  return extra;
}

/** Images are named in the bench file by their path in the job folder, and lie in `images/`. */
function nameInImages(file: string): string {
  const name = file.replace(/^\.\//, "");
  if (!name.startsWith(`${IMAGES_FOLDER}/`))
    throw new InputError("not-in-images", `${file}: images lie in the folder ${IMAGES_FOLDER}/ of the job.`);
  return name.slice(IMAGES_FOLDER.length + 1);
}

/** Keeps what was found on an image until its file changes. */
export type ImageCache = Map<string, ImageWithHash>;

async function surveyImages(
  job: Job,
  bench: Bench,
  cache: ImageCache,
): Promise<{ images: ImageWithHash[]; roms: RomFile[] }> {
  const read = async (name: string, file: string) => {
    try {
      return { name, file, ...(await readImage({ job, name: nameInImages(file) })) };
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return { ...unreadableImage(name, error.message), sha256: null };
    }
  };
  const [roms, images] = await Promise.all([
    Promise.all(
      (bench.computer?.regions ?? []).flatMap(({ name, file }) =>
        file === undefined ? [] : [read(name, file).then((rom) => ({ ...rom, file }))],
      ),
    ),
    Promise.all(bench.images.map(({ name, file }) => read(name, file))),
  ]);
  const beside = roms.flatMap((rom) => ("bytes" in rom ? [{ path: rom.file, bytes: rom.bytes }] : []));
  const survey = (image: (typeof images)[number]): ImageWithHash => {
    if (!("bytes" in image)) return image;
    const { name, bytes, sha256 } = image;
    const key = [name, sha256, ...beside.map((each) => each.bytes.length)].join(" ");
    const known = cache.get(key) ?? { ...surveyForFit(name, bytes, beside), sha256 };
    cache.set(key, known);
    return known;
  };
  return {
    images: images.map(survey),
    roms: roms.map(({ name, file, size, ...rom }) => ({
      region: name,
      file,
      size,
      ...("problem" in rom && rom.problem !== undefined ? { problem: rom.problem } : {}),
    })),
  };
}

export interface CheckedJob {
  report: JobReport;
  /** Text of the bench file that was checked. */
  text: string;
  issues: readonly BenchIssue[];
  bench?: Bench;
  chain?: Chain;
  images: readonly ImageWithHash[];
}

/** Checks a job: its bench file as it stands, or `text` in its place. */
export async function checkJob(job: Job, text?: string, cache: ImageCache = new Map()): Promise<CheckedJob> {
  const [benchText, catalogue] = await Promise.all([
    text ?? readBench(job).then((bench) => bench.text),
    jobCatalogue(job),
  ]);
  const { bench, issues, where } = readBenchText(benchText, catalogue);
  if (!bench) return { report: brokenReport(VERSION, BENCH_FILE, issues), text: benchText, issues, images: [] };
  const { images, roms } = await surveyImages(job, bench, cache);
  const chain = fitChain({ bench, catalogue, images, roms });
  return {
    report: makeReport(VERSION, BENCH_FILE, bench, chain, images, where),
    text: benchText,
    issues,
    bench,
    chain,
    images,
  };
}

/** The bench of a job without its images, or what is wrong with the file as it is printed for a person. */
export async function benchOfJob(job: Job, name: string): Promise<{ bench: Bench } | { problem: string }> {
  const { text } = await readBench(job);
  const { bench, issues } = readBenchText(text, await jobCatalogue(job));
  return bench ? { bench } : { problem: printIssues(`${name}/${BENCH_FILE}`, text, issues) };
}

export { parseAddress, type Resolved, resolveAddress } from "./address.ts";
export { type BuildChainedBlock, buildChainedBlock, chainedBlock } from "./chained-block/index.ts";
export { type Compared, type ComparedFile, compareImages } from "./compare.ts";
export { buildExtentEntry, type ExtentEntryOptions, extentEntry } from "./extent-entry/index.ts";
export { buildFat12, type Fat12BuildOptions, fat12 } from "./fat12/index.ts";
export { FORMATS } from "./formats.ts";
export { blockHolds } from "./hits.ts";
export { type MakeFormat, makeFormatNamed, makeFormats, makeImage } from "./make.ts";
export { NO_SIDE, readSide, type Side } from "./make-side.ts";
export { type Change, type Mended, mendImage } from "./mend.ts";
export { KIND_NAMES, noVolume, type Opened, openBest, recogniseAll, type VolumeWish } from "./open-best.ts";
export { buildSegmentList, type SegmentListBuild, segmentList } from "./segment-list/index.ts";
export {
  type NestedVolume,
  type Survey,
  type SurveyedCandidate,
  type SurveyedCounts,
  type SurveyedEntry,
  type SurveyedVolume,
  survey,
  surveyAndOpen,
} from "./survey.ts";
export * from "./types.ts";

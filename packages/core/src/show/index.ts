export * from "./capture.ts";
export * from "./clock/index.ts";
export { type FollowedScene, followScript, type Place, placeIn } from "./follow.ts";
export { sessionHtml } from "./html.ts";
export { PlainText } from "./plain.ts";
export { type PlannedScene, type PlannedShow, planShow, type Stretch } from "./plan.ts";
export {
  framesOf,
  type Pace,
  pacedTimes,
  piecesIn,
  type Runs,
  runsOf,
  screenAt,
  sessionText,
} from "./replay.ts";
export { countTo, SessionScreens } from "./seek.ts";
export { screenSvg } from "./svg.ts";
export type * from "./types.ts";
export { type Cue, captionCues, chapterCues, type Mark, offsetFrom, writeVtt } from "./vtt.ts";

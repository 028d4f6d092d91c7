export { after, expected, type KnownAnswer, proposals, settled } from "./bayes.ts";
export { makeWhyModel, type WhyModel } from "./model.ts";
export { answersOf, type WhyEntry } from "./session.ts";
export { type ToldCause, type ToldTest, tellWhy, type WhyCaution, type WhyTold } from "./tell.ts";
export type { Answer, WhyFinding, WhyLink } from "./types.ts";
export { readAnswer, readTold, testOfStep } from "./words.ts";

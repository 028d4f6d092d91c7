export {
  ALGORITHMS,
  type Algorithm,
  type BagFault,
  type BagReader,
  makeBag,
  type PayloadFile,
  verifyBag,
} from "./bag.ts";
export { type DossierParts, gatherDossier } from "./gather.ts";
export { dossierHtml } from "./html/index.ts";
export type * from "./types.ts";

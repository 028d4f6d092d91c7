export {
  ALGORITHMS,
  type Algorithm,
  type BagFault,
  type BagReader,
  makeBag,
  type PayloadFile,
  verifyBag,
} from "./bag.ts";
export { type Dossier, gatherDossier, type LoggedEntry } from "./data.ts";
export { dossierHtml } from "./html.ts";

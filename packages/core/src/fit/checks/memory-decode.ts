import { address } from "../../bytes/index.ts";
import { type DecodeProof, memoryMapOf, proveDecoding } from "../../memory/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

function outcomeOf(region: string, proofs: readonly DecodeProof[]): Outcome {
  const [one] = proofs;
  const path = one!.path;
  const shared = {
    about: region,
    at: `${path}.select`,
    figures: [
      benchFigure("select", one!.one, `${path}.select`),
      ...proofs.map(({ other, proof }) =>
        worked(
          `against ${other}`,
          proof.equal === undefined
            ? "too large to be settled"
            : `${proof.equal ? "equal" : `differ first at ${address(proof.address)}`}, ${proof.inputs} inputs, by ${proof.method}`,
        ),
      ),
    ],
  };
  for (const { other, proof } of proofs)
    if (proof.equal === false) {
      const others = [...proof.others].map(([name, value]) => `${name} = ${value ? 1 : 0}`).join(", ");
      return {
        ...shared,
        verdict: "stops",
        sentence: `The select of ${region} is ${proof.first ? "on" : "off"} at ${address(proof.address)}${others ? ` with ${others}` : ""}, and by ${other} it should be ${proof.first ? "off" : "on"}.`,
        remedy:
          "Follow the wires of the decoder at that address with a logic probe, or correct the equation or the place in the bench file.",
      };
    }
  if (proofs.some((each) => each.proof.equal === undefined))
    return unknown(`The decoder of ${region} is too large to be proved.`, [`${path}.select`], shared);
  return {
    ...shared,
    verdict: "runs",
    sentence: `The select of ${region} is proved to be the same in ${proofs.length === 1 ? "its logic and its place" : `all its ${proofs.length} forms and its place`}.`,
  };
}

export const memoryDecode: Check = {
  id: "memory-decode",
  link: "memory",
  title: "The address decoder",
  about:
    "Where the bench gives the select of a region as equations or as parts wired together, all forms are proved equal to each other and to the region's place: by every combination of inputs up to 2^16, by binary decision diagrams beyond. Where they differ, the first address is shown.",
  formula: "select by logic ⊕ select by place = 0 for all inputs",
  sources: [RULES.arithmetic],
  run({ bench }) {
    const map = memoryMapOf(bench);
    if (!map) return [];
    const byRegion = new Map<string, DecodeProof[]>();
    for (const proof of proveDecoding(map)) byRegion.set(proof.region, [...(byRegion.get(proof.region) ?? []), proof]);
    return [...byRegion].map(([region, proofs]) => outcomeOf(region, proofs));
  },
};

import { hexByte, hexWord, type Reader, signed8 } from "./dis-kit.ts";
import { type Field, FORMS_Z80, type FormZ80 } from "./tableZ80.ts";

/** Forms by their first byte; a field in the first byte (RST) lists them under each. */
const BY_FIRST: FormZ80[][] = Array.from({ length: 256 }, () => []);
for (const form of FORMS_Z80) {
  const { base, field } = form.bytes[0]!;
  if (field === "p") for (let restart = 0; restart < 0x40; restart += 8) BY_FIRST[base + restart]!.push(form);
  else BY_FIRST[base]!.push(form);
}

/** Second byte of IM by its mode. */
const INTERRUPT_MODES = [0x46, 0x56, 0x5e];

/** Values of a form's expressions where the bytes are that form's. */
function matched(
  form: FormZ80,
  byte: (index: number) => number,
): { values: Map<Field, number>; length: number } | undefined {
  const values = new Map<Field, number>();
  let at = 0;
  for (const { base, field } of form.bytes) {
    const value = byte(at++);
    if (field === undefined) {
      if (value !== base) return undefined;
    } else if (field === "nn") values.set(field, value | (byte(at++) << 8));
    else if (field === "b") {
      const number = (value - base) / 8;
      if (!Number.isInteger(number) || number < 0 || number > 7) return undefined;
      values.set(field, number);
    } else if (field === "p") {
      if ((value - base) & ~0x38) return undefined;
      values.set(field, value - base);
    } else if (field === "m") {
      const mode = INTERRUPT_MODES.indexOf(value - base);
      if (mode < 0) return undefined;
      values.set(field, mode);
    } else values.set(field, value);
  }
  return { values, length: at };
}

export const readZ80: Reader = (byte, address) => {
  for (const form of BY_FIRST[byte(0)]!) {
    const found = matched(form, byte);
    if (!found) continue;
    const { values, length } = found;
    const shown = (field: Field): string => {
      const value = values.get(field)!;
      if (field === "nn") return hexWord(value);
      if (field === "e") return hexWord(address + length + signed8(value));
      if (field === "b" || field === "m") return String(value);
      return hexByte(value);
    };
    const operands = form.operands.map((operand) =>
      operand
        .replace(/\+d/, () => {
          const distance = signed8(values.get("d")!);
          return distance < 0 ? `-${-distance}` : `+${distance}`;
        })
        .replace(/[a-z]+/g, (field) => shown(field as Field)),
    );
    return { text: [form.mnemonic, operands.join(",")].join(" ").trim(), length };
  }
  return undefined;
};

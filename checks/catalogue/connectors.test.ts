import { loadCatalogue } from "@rouse/core/catalogue";
import { describe, expect, it } from "vitest";

// Source: the tables of V.24 interface assignments as published (signal, V.24 circuit, pins of the 25-way and the 9-way D
// connector, source side), read in copies; kept in the catalogue as "published pin tables of V.24 connectors".
const PUBLISHED = [
  ["shield", "101", 1, undefined, "both"],
  ["TxD", "103", 2, 3, "DTE"],
  ["RxD", "104", 3, 2, "DCE"],
  ["RTS", "105", 4, 7, "DTE"],
  ["CTS", "106", 5, 8, "DCE"],
  ["DSR", "107", 6, 6, "DCE"],
  ["SG", "102", 7, 5, "both"],
  ["DCD", "109", 8, 1, "DCE"],
  ["DTR", "108.2", 20, 4, "DTE"],
  ["RI", "125", 22, 9, "DCE"],
  ["TC", "114", 15, undefined, "DCE"],
  ["RC", "115", 17, undefined, "DCE"],
  ["XTC", "113", 24, undefined, "DTE"],
  ["DSRS", "111", 23, undefined, "DTE"],
] as const;

const connectors = loadCatalogue().connectors;
const circuit = (connector: string, pin: number) =>
  connectors.get(connector)!.circuits.find((each) => each.pin === pin);

describe("the V.24 connectors against the published tables", () => {
  it.each(PUBLISHED)("puts %s (circuit %s) on its pin of the 25-way connector", (name, v24, pin, _, from) => {
    expect(circuit("db-25", pin)).toEqual({ pin, name, v24, from });
  });

  it.each(PUBLISHED.filter((row) => row[3] !== undefined))(
    "puts %s (circuit %s) on its pin of the 9-way connector",
    (name, v24, _, pin, from) => {
      expect(circuit("de-9", pin!)).toEqual({ pin, name, v24, from });
    },
  );

  it("assigns no pin beyond the tables", () => {
    expect(connectors.get("db-25")!.circuits).toHaveLength(PUBLISHED.length);
    expect(connectors.get("de-9")!.circuits).toHaveLength(9);
  });

  // Arithmetic: a flat cable's wire n goes to header pin n; a D connector takes the wires in turn from its two rows.
  it.each([
    ["header-10", "de-9", 5],
    ["header-26", "db-25", 13],
  ] as const)("wires the %s as the flat cable to a %s does", (header, connector, row) => {
    for (const { pin, name } of connectors.get(connector)!.circuits) {
      const wire = pin <= row ? 2 * pin - 1 : 2 * (pin - row);
      expect(circuit(header, wire)!.name).toBe(name);
    }
  });
});

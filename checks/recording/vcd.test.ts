import { asciiBytes } from "@rouse/core/bytes";
import { loadCatalogue } from "@rouse/core/catalogue";
import { encodeTrack, identify, readCapture, recoverTrack, trackForm } from "@rouse/core/recording";
import { Random, simulateRead } from "@rouse/core/recording/kit";
import { describe, expect, it } from "vitest";

/**
 * Source: IEEE 1364, clause 18.2 (value change dump). The text follows the standard's grammar: declarations end with $end, a
 * scalar change has no space before its identifier, a vector and a real have one, identifiers are any printable characters.
 */
const DUMP = `
$date June 26, 1989 10:05:41 $end
$version a recorder $end
$timescale 1 ns $end
$scope module top $end
$var wire 1 *@ index $end
$scope task t1 $end
$var reg 32 (k accumulator [31:0] $end
$var wire 1 *# read $end
$var real 64 !x level $end
$upscope $end $upscope $end
$enddefinitions $end
$comment changes follow $end
#500
$dumpvars
x*@
bx (k
1*#
r0 !x
$end
#505
0*@
#530
b10zx1110x11100 (k
#600
1*@
0*#
#1000
1*#
$dumpoff
x*#
$end
#1500
$dumpon
1*#
$end
#5600
0*#
#6000
1*#
#9600
0*#
#10000
1*#
0*@
`;

describe("a value change dump by IEEE 1364", () => {
  it("gives the pulses of the read line and the index, whatever else it holds", () => {
    const { transitions, index, notes } = readCapture(asciiBytes(DUMP));
    expect([...transitions].map((time) => Math.round(time * 1e9))).toEqual([600, 5600, 9600]);
    expect([...index].map((time) => Math.round(time * 1e9))).toEqual([600]);
    expect(notes).toEqual(["“read” is the read line; low pulses: falling edges count", "“index” is the index"]);
  });
});

describe("a track that goes through a file", () => {
  const recording = loadCatalogue().recordings.get("ecma-70")!;
  const form = trackForm(recording, 7, 1);
  const data = new Random(12).bytes(form.sectors * form.size);
  const capture = simulateRead(encodeTrack(form, data), form.cellSeconds, { turns: 2, jitter: 0.06, speed: 0.01 });
  /** Every change as time in ns, line and level; pulses of 500 ns. */
  const changes = [
    ...[...capture.transitions].flatMap((time) => [
      [Math.round(time * 1e9), "r", 0],
      [Math.round(time * 1e9) + 500, "r", 1],
    ]),
    ...[...capture.index].flatMap((time) => [
      [Math.round(time * 1e9), "i", 1],
      [Math.round(time * 1e9) + 4_000_000, "i", 0],
    ]),
  ].sort(([one], [other]) => Number(one) - Number(other)) as [number, "r" | "i", 0 | 1][];

  const recovered = (text: string) => {
    const read = readCapture(asciiBytes(text));
    expect(read.index).toHaveLength(3);
    expect(identify(read, [recording])[0]).toMatchObject({ score: 1, form: { track: 7, side: 1 } });
    const { sectors, data: found } = recoverTrack(read, form);
    expect(sectors.every(({ turnsGood }) => turnsGood === 2)).toBe(true);
    return found.every((byte, i) => byte === data[i]);
  };

  it("comes back from a value change dump", () => {
    const head = "$timescale 1 ns $end $var wire 1 r rd $end $var wire 1 i idx $end $enddefinitions $end #0 1r 0i\n";
    expect(recovered(head + changes.map(([time, line, level]) => `#${time} ${level}${line}`).join("\n"))).toBe(true);
  });

  it("comes back from lines of seconds and levels", () => {
    const now = { r: 1, i: 0 };
    const lines = changes.map(([time, line, level]) => {
      now[line] = level;
      return `${(time / 1e9).toFixed(9)},${now.r},${now.i}`;
    });
    expect(recovered(["seconds,read,index", "0,1,0", ...lines].join("\n"))).toBe(true);
  });
});

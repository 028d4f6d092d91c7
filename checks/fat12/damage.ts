/** Damages FAT12 images in known ways. It reads the image with code of its own, so that a mistake of ours cannot hide. */

interface Image {
  bytes: Uint8Array;
  size: number;
  perCluster: number;
  fatAt: number;
  fatBytes: number;
  rootAt: number;
  rootEntries: number;
  dataAt: number;
  clusters: number;
}

const word = (bytes: Uint8Array, at: number): number => bytes[at]! | (bytes[at + 1]! << 8);

const setWord = (bytes: Uint8Array, at: number, value: number): void => {
  bytes[at] = value & 0xff;
  bytes[at + 1] = value >> 8;
};

const setLong = (bytes: Uint8Array, at: number, value: number): void => {
  setWord(bytes, at, value & 0xffff);
  setWord(bytes, at + 2, value >>> 16);
};

export function parse(bytes: Uint8Array): Image {
  const size = word(bytes, 11);
  const fatAt = word(bytes, 14) * size;
  const fatBytes = word(bytes, 22) * size;
  const rootAt = fatAt + 2 * fatBytes;
  const dataAt = rootAt + word(bytes, 17) * 32;
  const perCluster = bytes[13]!;
  return {
    bytes,
    size,
    perCluster,
    fatAt,
    fatBytes,
    rootAt,
    rootEntries: word(bytes, 17),
    dataAt,
    clusters: Math.floor((word(bytes, 19) * size - dataAt) / (perCluster * size)),
  };
}

function getFat(image: Image, n: number, copy = 0): number {
  const pair = word(image.bytes, image.fatAt + copy * image.fatBytes + n + (n >> 1));
  return n & 1 ? pair >> 4 : pair & 0xfff;
}

function setFat(image: Image, n: number, value: number, copies = [0, 1]): void {
  for (const copy of copies) {
    const at = image.fatAt + copy * image.fatBytes + n + (n >> 1);
    const pair = word(image.bytes, at);
    setWord(image.bytes, at, n & 1 ? (pair & 0x000f) | (value << 4) : (pair & 0xf000) | value);
  }
}

const clusterAt = (image: Image, n: number): number => image.dataAt + (n - 2) * image.perCluster * image.size;

function chain(image: Image, start: number): number[] {
  const out: number[] = [];
  for (let n = start; n >= 2 && n < image.clusters + 2 && !out.includes(n); n = getFat(image, n)) out.push(n);
  return out;
}

/** Offset of the entry of an 8.3 path. */
function entryAt(image: Image, path: string): number {
  let stretches = [[image.rootAt, image.rootAt + image.rootEntries * 32]];
  let found = -1;
  for (const part of path.split("/")) {
    const [base = "", extension = ""] = part.split(".");
    const name = base.padEnd(8) + extension.padEnd(3);
    found = -1;
    for (const [from, to] of stretches)
      for (let at = from!; at < to! && found < 0; at += 32)
        if (String.fromCharCode(...image.bytes.subarray(at, at + 11)) === name && image.bytes[at + 11] !== 0x0f)
          found = at;
    if (found < 0) throw new Error(`the test image has no ${path}`);
    stretches = chain(image, word(image.bytes, found + 26)).map((n) => [
      clusterAt(image, n),
      clusterAt(image, n) + image.perCluster * image.size,
    ]);
  }
  return found;
}

const startOf = (image: Image, path: string): number => word(image.bytes, entryAt(image, path) + 26);

const freeCluster = (image: Image, from: number): number => {
  for (let n = from; n < image.clusters + 2; n++) if (getFat(image, n) === 0) return n;
  throw new Error("the test image is full");
};

type Next = (below: number) => number;

interface Kind {
  name: string;
  /** Codes of which at least one is to be told; empty where the volume stays clean. */
  codes: readonly string[];
  /** What `fsck.fat` says in such a case; null where it finds the volume clean. */
  fsck: RegExp | null;
  damage(image: Image, next: Next): void;
}

const FILES = ["BIG.DAT", "WORK/A.TXT", "WORK/B.TXT", "WORK/DEEPER/LEAF.C", "LAST.BIN"] as const;
const someFile = (next: Next): string => FILES[next(FILES.length)]!;
/** A cluster of a file's chain that is not its last. */
const inside = (image: Image, path: string, next: Next): number => {
  const clusters = chain(image, startOf(image, path));
  return clusters[next(clusters.length - 1)]!;
};
const folderAt = (image: Image, path: string): number => clusterAt(image, startOf(image, path));
const text = (image: Image, at: number, what: string): void => {
  for (let i = 0; i < what.length; i++) image.bytes[at + i] = what.charCodeAt(i);
};

export const KINDS: readonly Kind[] = [
  {
    name: "nothing but changed data",
    codes: [],
    fsck: null,
    damage: (image, next) => {
      const at = clusterAt(image, startOf(image, someFile(next)));
      for (let i = 0; i < 200; i++) image.bytes[at + i] = next(256);
    },
  },
  {
    name: "a free cluster marked bad",
    codes: [],
    fsck: null,
    damage: (image, next) => setFat(image, freeCluster(image, image.clusters - 20 + next(10)), 0xff7),
  },
  {
    name: "a size changed within its last cluster",
    codes: [],
    fsck: null,
    damage: (image, next) => {
      const at = entryAt(image, "ONE.B");
      setLong(image.bytes, at + 28, 2 + next(300));
    },
  },
  {
    name: "an entry changed in the second FAT",
    codes: ["fat-copies-differ"],
    fsck: /FATs differ/,
    damage: (image, next) => setFat(image, inside(image, someFile(next), next), next(0xfff), [1]),
  },
  {
    name: "an entry changed in the first FAT",
    codes: ["fat-copies-differ"],
    fsck: /FATs differ/,
    damage: (image, next) => setFat(image, inside(image, someFile(next), next), next(0xfff), [0]),
  },
  {
    name: "a sector of the first FAT zeroed",
    codes: ["fat-copies-differ"],
    fsck: /FATs differ/,
    damage: (image) => void image.bytes.fill(0, image.fatAt, image.fatAt + image.size),
  },
  {
    name: "a sector of the second FAT zeroed",
    codes: ["fat-copies-differ"],
    fsck: /FATs differ/,
    damage: (image) =>
      void image.bytes.fill(0, image.fatAt + image.fatBytes, image.fatAt + image.fatBytes + image.size),
  },
  {
    name: "a chain that points past the end",
    codes: ["chain-outside"],
    fsck: /out of range/,
    damage: (image, next) =>
      setFat(image, inside(image, someFile(next), next), image.clusters + 2 + next(0xff0 - image.clusters - 2)),
  },
  {
    name: "a chain that points to cluster 1",
    codes: ["chain-outside"],
    fsck: /out of range \(1\)/,
    damage: (image, next) => setFat(image, inside(image, someFile(next), next), 1),
  },
  {
    name: "a chain that points to a free cluster",
    codes: ["broken-chain"],
    fsck: /free cluster/,
    damage: (image, next) =>
      setFat(image, inside(image, someFile(next), next), freeCluster(image, image.clusters - 30 + next(20))),
  },
  {
    name: "a freed cluster inside a chain",
    codes: ["broken-chain"],
    fsck: /free cluster/,
    damage: (image, next) => {
      const clusters = chain(image, startOf(image, someFile(next)));
      setFat(image, clusters[1 + next(clusters.length - 1)]!, 0);
    },
  },
  {
    name: "a chain that runs into a bad mark",
    codes: ["bad-cluster"],
    fsck: /Internal error: next_cluster on bad cluster/,
    damage: (image, next) => setFat(image, inside(image, someFile(next), next), 0xff7),
  },
  {
    name: "a chain that runs into a bad cluster",
    codes: ["bad-cluster"],
    fsck: /Internal error: next_cluster on bad cluster/,
    damage: (image, next) => {
      const clusters = chain(image, startOf(image, someFile(next)));
      setFat(image, clusters[1 + next(clusters.length - 1)]!, 0xff7);
    },
  },
  {
    name: "a chain that ends early",
    codes: ["short-chain"],
    fsck: /cluster chain length is \d/,
    damage: (image, next) => setFat(image, inside(image, someFile(next), next), 0xfff),
  },
  {
    name: "a loop",
    codes: ["loop"],
    fsck: /Circular cluster chain/,
    damage: (image, next) => {
      const clusters = chain(image, startOf(image, someFile(next)));
      setFat(image, clusters[clusters.length - 1]!, clusters[next(clusters.length)]!);
    },
  },
  {
    name: "a chain that runs into another",
    codes: ["crossed-chain"],
    fsck: /share clusters/,
    damage: (image, next) => {
      setFat(image, inside(image, "WORK/A.TXT", next), inside(image, "BIG.DAT", next));
    },
  },
  {
    name: "two entries with the same first cluster",
    codes: ["crossed-chain"],
    fsck: /share clusters/,
    damage: (image) => setWord(image.bytes, entryAt(image, "WORK/A.TXT") + 26, startOf(image, "LAST.BIN")),
  },
  {
    name: "a folder entry that points to another folder",
    codes: ["crossed-chain"],
    fsck: /share clusters|does not point/,
    damage: (image) => setWord(image.bytes, entryAt(image, "WORK/DEEPER") + 26, startOf(image, "NOTES")),
  },
  {
    name: "a chain that nothing claims",
    codes: ["lost-cluster"],
    fsck: /unused cluster/,
    damage: (image, next) => {
      const first = freeCluster(image, image.clusters - 40 + next(20));
      setFat(image, first, first + 1);
      setFat(image, first + 1, 0xfff);
    },
  },
  {
    name: "an entry lost, its chain kept",
    codes: ["lost-cluster"],
    fsck: /unused cluster/,
    damage: (image, next) => {
      image.bytes[entryAt(image, someFile(next))] = 0xe5;
    },
  },
  {
    name: "a size too large",
    codes: ["short-chain"],
    fsck: /cluster chain length is \d/,
    damage: (image, next) => {
      const at = entryAt(image, someFile(next)) + 28;
      setLong(image.bytes, at, word(image.bytes, at) + (word(image.bytes, at + 2) << 16) + 2048 + next(60000));
    },
  },
  {
    name: "a size too small",
    codes: ["long-chain"],
    fsck: /cluster chain length is >/,
    damage: (image, next) => setLong(image.bytes, entryAt(image, someFile(next)) + 28, 1 + next(300)),
  },
  {
    name: "a size of nothing with a chain",
    codes: ["long-chain"],
    fsck: /cluster chain length is >/,
    damage: (image, next) => setLong(image.bytes, entryAt(image, someFile(next)) + 28, 0),
  },
  {
    name: "a file without a first cluster",
    codes: ["short-chain"],
    fsck: /cluster chain length is 0/,
    damage: (image, next) => setWord(image.bytes, entryAt(image, someFile(next)) + 26, 0),
  },
  {
    name: "a folder without a first cluster",
    codes: ["no-start"],
    fsck: /Start does point to root directory/,
    damage: (image) => setWord(image.bytes, entryAt(image, "WORK/DEEPER") + 26, 0),
  },
  {
    name: "a first cluster past the end",
    codes: ["chain-outside"],
    fsck: /Start cluster beyond limit/,
    damage: (image, next) => setWord(image.bytes, entryAt(image, someFile(next)) + 26, image.clusters + 2 + next(500)),
  },
  {
    name: "a folder's . pointing elsewhere",
    codes: ["dot-entry"],
    fsck: /Invalid '\.' entry/,
    damage: (image, next) =>
      setWord(image.bytes, folderAt(image, "WORK/DEEPER") + 26, startOf(image, "WORK/DEEPER") + 1 + next(20)),
  },
  {
    name: "a folder's .. pointing elsewhere",
    codes: ["dot-entry"],
    fsck: /Invalid '\.\.' entry/,
    damage: (image, next) => setWord(image.bytes, folderAt(image, "WORK/DEEPER") + 32 + 26, image.clusters - next(20)),
  },
  {
    name: "a folder's . gone",
    codes: ["dot-entry"],
    fsck: /Expected a valid '\.' entry/,
    damage: (image) => {
      image.bytes[folderAt(image, "NOTES")] = 0xe5;
    },
  },
  {
    name: "a folder with a size",
    codes: ["folder-size"],
    fsck: /non-zero size/,
    damage: (image, next) => setLong(image.bytes, entryAt(image, "WORK") + 28, 1 + next(5000)),
  },
  {
    name: "a name with a control character",
    codes: ["odd-entry"],
    fsck: /Bad short file name/,
    damage: (image, next) => {
      image.bytes[entryAt(image, someFile(next)) + 1] = 1 + next(31);
    },
  },
  {
    name: "a name in small letters",
    codes: ["odd-entry"],
    fsck: null,
    damage: (image, next) => {
      image.bytes[entryAt(image, someFile(next)) + 1] = 0x61 + next(26);
    },
  },
  {
    name: "bit 5 of the reserved byte 12",
    codes: [],
    fsck: /Bad short file name/,
    damage: (image, next) => {
      image.bytes[entryAt(image, someFile(next)) + 12]! |= 0x20;
    },
  },
  {
    name: "a chain that runs on past its size into another",
    codes: ["long-chain"],
    fsck: /cluster chain length is >|share clusters/,
    damage: (image, next) => {
      const clusters = chain(image, startOf(image, "WORK/A.TXT"));
      setFat(image, clusters[clusters.length - 1]!, inside(image, "BIG.DAT", next));
    },
  },
  {
    name: "a volume label that the descriptor does not repeat",
    codes: [],
    fsck: /no label in boot sector/,
    damage: (image) => {
      let at = image.rootAt;
      while (image.bytes[at] !== 0) at += 32;
      text(image, at, "LARKFIELD  ");
      image.bytes[at + 11] = 0x08;
    },
  },
  {
    name: "a descriptor that states too small a FAT",
    codes: ["no-descriptor"],
    fsck: /./,
    damage: (image) => {
      image.bytes[0x16]!--;
    },
  },
  {
    name: "the same name twice",
    codes: ["same-name"],
    fsck: /Duplicate directory entry/,
    damage: (image) => text(image, entryAt(image, "WORK/B.TXT"), "A       TXT"),
  },
  {
    name: "attribute bits that are not used",
    codes: ["odd-entry"],
    fsck: null,
    damage: (image, next) => {
      image.bytes[entryAt(image, someFile(next)) + 11]! |= next(2) ? 0x40 : 0x80;
    },
  },
  {
    name: "a sector of a folder full of noise",
    codes: ["damaged-entry", "odd-entry"],
    fsck: /[Bb]ad/,
    damage: (image, next) => {
      const at = clusterAt(image, chain(image, startOf(image, "NOTES"))[0]!) + 64;
      for (let i = 0; i < 448; i++) image.bytes[at + i] = 1 + next(255);
    },
  },
  {
    name: "a folder's first cluster zeroed",
    codes: ["blank-folder"],
    fsck: /Expected a valid '\.' entry/,
    damage: (image) => void image.bytes.fill(0, folderAt(image, "NOTES"), folderAt(image, "NOTES") + image.size),
  },
  {
    name: "a media byte that both FATs contradict",
    codes: ["fat-head"],
    fsck: null,
    damage: (image, next) => {
      const media = 0xfa + next(2);
      for (const copy of [0, 1]) image.bytes[image.fatAt + copy * image.fatBytes] = media;
    },
  },
  {
    name: "an orphaned piece of a long name",
    codes: ["orphan-long-name"],
    fsck: null,
    damage: (image, next) => {
      const at = entryAt(image, "EMPTY");
      image.bytes.fill(0xff, at, at + 32);
      text(image, at, "A");
      image.bytes[at] = 0x41;
      image.bytes[at + 11] = 0x0f;
      image.bytes[at + 12] = 0;
      image.bytes[at + 13] = next(256);
      setWord(image.bytes, at + 26, 0);
    },
  },
  {
    name: "a volume label inside a folder",
    codes: ["misplaced-entry"],
    fsck: null,
    damage: (image) => {
      const at = entryAt(image, "NOTES/N3.TXT");
      for (const n of chain(image, word(image.bytes, at + 26))) setFat(image, n, 0);
      image.bytes[at + 11] = 0x08;
      setWord(image.bytes, at + 26, 0);
      setLong(image.bytes, at + 28, 0);
    },
  },
  {
    name: "an image that ends too soon",
    codes: ["short-image"],
    fsck: /Failed to read sector/,
    damage: (image, next) => {
      image.bytes = image.bytes.slice(0, image.bytes.length - image.size * (1 + next(200)));
    },
  },
  {
    name: "noise over a sector of both FATs",
    codes: ["broken-chain", "chain-outside", "lost-cluster", "crossed-chain"],
    fsck: /./,
    damage: (image, next) => {
      for (let i = 100; i < 220; i++) {
        const byte = next(256);
        for (const copy of [0, 1]) image.bytes[image.fatAt + copy * image.fatBytes + i] = byte;
      }
    },
  },
  {
    name: "a sector of both FATs zeroed",
    codes: ["broken-chain"],
    fsck: /free cluster/,
    damage: (image) => {
      for (const copy of [0, 1]) {
        const at = image.fatAt + copy * image.fatBytes;
        image.bytes.fill(0, at + 3, at + image.size);
      }
    },
  },
  {
    name: "bits turned in the root directory",
    codes: [
      "damaged-entry",
      "odd-entry",
      "short-chain",
      "long-chain",
      "lost-cluster",
      "broken-chain",
      "crossed-chain",
      "chain-outside",
    ],
    fsck: /./,
    damage: (image, next) => {
      for (let i = 0; i < 12; i++) {
        const at = next(160);
        // Byte 12 has a kind of its own.
        if (at % 32 !== 12) image.bytes[image.rootAt + at]! ^= 1 << next(8);
      }
    },
  },
];

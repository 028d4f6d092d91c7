import { networkInterfaces } from "node:os";
import { InputError } from "@rouse/core/errors";
import type { Hono } from "hono";
import type { ServerEnv } from "./guard.ts";
import { createPairing, type PairedPhone, type Pairing } from "./pairing.ts";
import { createPhoneApp, type Network } from "./phone-app.ts";
import type { TellFault } from "./problems.ts";
import { DEFAULT_PORT, type Started, startServer } from "./start.ts";

interface PhonesTold {
  /** Networks to choose from; a public one is reached by more than the people in the room. */
  networks: readonly (Network & { isPublic: boolean })[];
  risks: readonly string[];
  open: {
    address: string;
    code: { code: string; until: string } | null;
    phones: readonly PairedPhone[];
  } | null;
}

export interface Phones {
  told(): PhonesTold;
  /** Listens on a network (the first unless named) and makes a code. */
  open(address?: string): Promise<PhonesTold>;
  newCode(): PhonesTold;
  remove(id: string): PhonesTold;
  close(): Promise<PhonesTold>;
  follow(told: (now?: unknown) => void): () => void;
}

/** What a person is told before phones are let in. */
const RISKS: readonly string[] = [
  "Devices on this network can then reach a small server on this computer. Without a code they get an empty page.",
  "The connection is plain HTTP: who listens in on the network sees what the phone sees and sends, and could act as that phone until it is unpaired.",
  "A paired phone sees the run book and the prompter, and adds ticks, readings, notes and photographs. It reads no file, changes no bench, and reaches no disk and no line.",
  "Use a network that you trust, and close this when the work is done.",
];

/** RFC 1918, RFC 3927 and RFC 6598: addresses that are not routed on the public Internet; and loopback. */
const PRIVATE = /^(10\.|127\.|192\.168\.|172\.(1[6-9]|2\d|3[01])\.|169\.254\.|100\.(6[4-9]|[7-9]\d|1[01]\d|12[0-7])\.)/;

/** IPv4 networks that this computer is on, private ones first. */
function hostNetworks(): Network[] {
  return Object.values(networkInterfaces())
    .flatMap((found) => found ?? [])
    .filter(({ family, internal, cidr }) => family === "IPv4" && !internal && cidr !== null)
    .map(({ address, cidr }) => ({ address, prefix: Number(cidr?.split("/")[1]) }));
}

export function createPhones(
  deps: { webRoot: string; tellFault: TellFault; rooms(): readonly Hono<ServerEnv>[] },
  { now = () => Date.now(), networks = hostNetworks, port = DEFAULT_PORT + 1 } = {},
): Phones {
  const followers = new Set<(now?: unknown) => void>();
  let open: { started: Started; pairing: Pairing; network: Network } | undefined;
  let opening = false;
  const told = (): PhonesTold => ({
    networks: networks()
      .map((each) => ({ ...each, isPublic: !PRIVATE.test(each.address) }))
      .sort((one, other) => Number(one.isPublic) - Number(other.isPublic)),
    risks: RISKS,
    open:
      (open && {
        address: open.started.address,
        code: open.pairing.code(),
        phones: open.pairing.phones(),
      }) ||
      null,
  });
  const changed = (): PhonesTold => {
    const state = told();
    for (const each of followers) each(state);
    return state;
  };
  const opened = () => {
    if (!open) throw new InputError("no-phones", "Phones are not let in now.");
    return open;
  };
  return {
    told,
    async open(address) {
      if (open || opening) return told();
      const found = told().networks;
      const network = address === undefined ? found[0] : found.find((each) => each.address === address);
      if (!network)
        throw new InputError("no-network", "This computer is on no network of that address; connect it to one first.");
      const pairing = createPairing(now, () => void changed());
      opening = true;
      const started = await startServer(
        (bound) => createPhoneApp({ ...deps, network, port: bound, pairing, rooms: deps.rooms() }),
        { host: network.address, port },
      ).finally(() => {
        opening = false;
      });
      open = { started, pairing, network };
      pairing.newCode();
      return told();
    },
    newCode() {
      opened().pairing.newCode();
      return told();
    },
    remove(id) {
      opened().pairing.remove(id);
      // What it has open ends too; the others come back by themselves.
      opened().started.dropSockets();
      return told();
    },
    async close() {
      const { started } = open ?? {};
      open = undefined;
      await started?.close();
      return changed();
    },
    follow(each) {
      followers.add(each);
      each(told());
      return () => followers.delete(each);
    },
  };
}

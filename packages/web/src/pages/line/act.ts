import { ask, sending } from "../../job/api.ts";

/** Tells the server to do something on a port. */
export const act = (what: string, body: object): Promise<unknown> => ask(`line/${what}`, sending("POST", body));

import { useEffect, useState } from "react";
import { type Connection, followSocket } from "../../job/live.ts";
import type { WriteState } from "./types.ts";

/** The write that the server runs or ran last: undefined until it is known, null where there is none. */
export function useWrite(): { state: WriteState | null | undefined; connection: Connection } {
  const [state, setState] = useState<WriteState | null | undefined>();
  const [connection, setConnection] = useState<Connection>("connecting");
  useEffect(
    () =>
      followSocket("write/live", {
        hear: (message) => setState(message as WriteState | null),
        connection: setConnection,
      }),
    [],
  );
  return { state, connection };
}

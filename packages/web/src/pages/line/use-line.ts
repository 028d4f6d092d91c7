import { useEffect, useState } from "react";
import { type Connection, followSocket } from "../../job/live.ts";
import { LineStream } from "./stream.ts";
import type { LineMessage, Seat } from "./types.ts";

export interface Line {
  /** Undefined until it is known. */
  seats: readonly Seat[] | undefined;
  connection: Connection;
  stream: LineStream;
  /** Whether this window answers what a program asks its terminal. */
  answers: boolean;
}

/** What the server tells of its ports, and all that passes on one of them. */
export function useLine(port: string): Line {
  const [seats, setSeats] = useState<readonly Seat[] | undefined>();
  const [connection, setConnection] = useState<Connection>("connecting");
  const [answers, setAnswers] = useState(false);
  const [stream, setStream] = useState(() => new LineStream());
  useEffect(() => {
    const made = new LineStream();
    setStream(made);
    const path = (): string => {
      const { run, position } = made.seen;
      return `line/live?${new URLSearchParams({ port, ...(run ? { run, seen: String(position) } : {}) })}`;
    };
    return followSocket(path, {
      hear: (told) => {
        const message = told as LineMessage;
        if (message.kind === "state") setSeats(message.seats);
        else if (message.kind === "port") made.begin(message.run, message.position);
        else setAnswers(message.yes);
      },
      bytes: (frame) => made.hear(frame),
      connection: setConnection,
    });
  }, [port]);
  return { seats, connection, stream, answers };
}

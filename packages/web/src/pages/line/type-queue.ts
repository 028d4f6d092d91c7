const MOST = 4096;

/**
 * Sends what is typed in the order it is typed: one request at a time, with all that has come together meanwhile. What
 * could not be sent is dropped, with all that waits behind it; `failed` hears why.
 */
export function typeQueue(
  send: (text: string) => Promise<unknown>,
  failed: (error: unknown) => void,
): (text: string) => void {
  let waiting = "";
  let isSending = false;
  const go = async (): Promise<void> => {
    isSending = true;
    while (waiting !== "") {
      const now = waiting.slice(0, MOST);
      waiting = waiting.slice(MOST);
      try {
        await send(now);
      } catch (error) {
        waiting = "";
        failed(error);
      }
    }
    isSending = false;
  };
  return (text) => {
    waiting += text;
    if (!isSending) void go();
  };
}

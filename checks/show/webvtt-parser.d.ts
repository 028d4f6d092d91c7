declare module "webvtt-parser" {
  export class WebVTTParser {
    constructor(entities?: Record<string, string>);
    parse(
      text: string,
      mode?: "metadata" | "chapters",
    ): {
      cues: readonly { id: string; startTime: number; endTime: number; tree: { children: readonly Leaf[] } }[];
      errors: readonly { message: string; line: number }[];
    };
  }
  interface Leaf {
    type: string;
    value?: string;
  }
}

const OPERATION = 16;
const COMMENT = 44;
const WIDTH = 110;

/** A source as it grows, in columns, with comments for who reads it at the bench. */
export class Source {
  private readonly rows: string[] = [];
  /** A label that waits for the instruction on its line. */
  private waiting = "";

  /** An instruction or directive. */
  add(operation: string, operand = "", comment = "", label = ""): void {
    if (label !== "") this.flush();
    const text = `${(label || this.waiting).padEnd(OPERATION)}${operation} ${operand}`.trimEnd();
    this.waiting = "";
    this.rows.push(comment === "" ? text : `${text.padEnd(COMMENT - 1)} ; ${comment}`);
  }

  /** Several instructions, each as `operation operand ; comment`, behind a label or none. */
  code(text: string): void {
    for (const row of text.split("\n")) {
      const [, label, operation, operand, comment] = /^(\S*)\s*(\S*)\s*(.*?)\s*(?:;\s(.*))?$/.exec(row) ?? [];
      if (label === "" && operation === "") continue;
      if (operation === "") {
        this.flush();
        this.waiting = label!;
      } else this.add(operation!, operand, comment, label);
    }
  }

  /** Comment lines, a paragraph wrapped. */
  say(paragraph: string): void {
    this.flush();
    let line = ";";
    if (paragraph === "") {
      this.rows.push(line);
      return;
    }
    for (const word of paragraph.split(" ")) {
      if (line.length + 1 + word.length > WIDTH) {
        this.rows.push(line);
        line = ";";
      }
      line += ` ${word}`;
    }
    this.rows.push(line);
  }

  gap(): void {
    this.flush();
    this.rows.push("");
  }

  private flush(): void {
    if (this.waiting !== "") this.rows.push(this.waiting);
    this.waiting = "";
  }

  get text(): string {
    this.flush();
    return `${this.rows.join("\n")}\n`;
  }
}

/** A number as all three assemblers' sources show it: `$C000`, `$7F`. */
export const dollar = (value: number, digits: 2 | 4 = value > 0xff ? 4 : 2): string =>
  `$${(value & 0xffff).toString(16).toUpperCase().padStart(digits, "0")}`;

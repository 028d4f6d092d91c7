import { plainText, u16le } from "../bytes/index.ts";
import { isText, textLines } from "./text.ts";

/**
 * Files that start a system: the account file, start-up scripts, and programs with a fixed load address. Passwords are
 * never given out: of each account only whether one is set.
 */

export interface Account {
  /** Line in the file, from 1. */
  line: number;
  name: string;
  passwordSet: boolean;
  user: number;
  priority: number;
  commandFolder: string;
  dataFolder: string;
  /** Program started after login, with its arguments as written. */
  program: string;
}

/** Longest file that is looked at as an account file or a script. */
const LONGEST_LIST = 0x10000;
/** An account is expected in this many bytes from the start; other text is told apart without reading all of it. */
const HEAD = 2048;

/** name, password, user, priority, command folder, data folder, program (from memory; fields parted by commas). */
const ACCOUNT = /^([^,]*),([^,]*),\s*(\d{1,5})\s*,\s*(\d{1,3})\s*,([^,]*),([^,]*),(.*)$/;

const trimmed = (text: string | undefined): string => (text ?? "").trim();

const lineText = (bytes: Uint8Array, from: number, to: number): string => plainText(bytes.subarray(from, to));

/** The account in a line, or null. */
function readAccount(text: string, line: number): Account | null {
  const match = ACCOUNT.exec(text);
  if (!match || Number(match[3]) > 0xffff || Number(match[4]) > 0xff) return null;
  return {
    line,
    name: trimmed(match[1]),
    passwordSet: trimmed(match[2]) !== "",
    user: Number(match[3]),
    priority: Number(match[4]),
    commandFolder: trimmed(match[5]),
    dataFolder: trimmed(match[6]),
    program: trimmed(match[7]),
  };
}

/** Whether a line has the six commas of an account: most files are told apart without making strings of them. */
function hasCommas(bytes: Uint8Array, from: number, to: number): boolean {
  let commas = 0;
  for (let i = from; i < to; i++) if (bytes[i] === 0x2c) commas++;
  return commas >= 6;
}

/** Accounts of an account file; empty where fewer than half of its written lines are accounts. */
export function readAccounts(bytes: Uint8Array): Account[] {
  if (bytes.length > LONGEST_LIST) return [];
  const head = bytes.subarray(0, HEAD);
  if (!textLines(head).some(({ from, to }) => hasCommas(head, from, to)) || !isText(bytes)) return [];
  const accounts: Account[] = [];
  let written = 0;
  textLines(bytes).forEach(({ from, to }, index) => {
    if (to === from || bytes[from] === 0x2a) return;
    written++;
    if (!hasCommas(bytes, from, to)) return;
    const account = readAccount(lineText(bytes, from, to), index + 1);
    if (account) accounts.push(account);
  });
  return accounts.length * 2 >= written ? accounts : [];
}

/** A line with what may be a password left out: the second field, where an account's numbers follow. */
export const withoutPassword = (text: string): string =>
  text.replace(/^([^,]*,)[^,]+(,\s*\d{1,5}\s*,)/, "$1(not shown)$2");

export interface ScriptLine {
  /** From 1. */
  line: number;
  /** In bytes from the start of the file. */
  offset: number;
  text: string;
  /** Programs, modules and files that the line asks for, in order. */
  asks: readonly string[];
  /** Devices that it names: `/d1/…` asks for `d1`. */
  devices: readonly string[];
}

/** Commands that the command interpreter holds itself, from memory. */
const OWN_COMMANDS = new Set(["chd", "chx", "ex", "i", "kill", "p", "-p", "setpr", "t", "-t", "w", "x", "-x"]);

/** Commands whose first argument is a module to be found. */
const ASKS_FOR_MODULE = new Set(["load", "link"]);

/** Commands that the command interpreter of extent-entry systems holds itself, from memory. */
const OWN_COMMANDS_EXTENT = new Set(["dir", "era", "ren", "save", "type", "user"]);

/** Reads a command list of an extent-entry system: one command a line, `;` opens a remark (from memory). */
export function readCommandList(bytes: Uint8Array): ScriptLine[] {
  return writtenLines(bytes).map((each) => {
    const name = /^\s*(?:[A-Pa-p]:)?([^\s;:<>]+)/.exec(each.text)?.[1] ?? "";
    const own = name === "" || OWN_COMMANDS_EXTENT.has(name.toLowerCase());
    return { ...each, asks: own ? [] : [name], devices: [] };
  });
}

/**
 * Reads a script of a segment-list system. A line holds commands parted by `;`, `&` and `!`; `*` opens a remark; `<`, `>` and `#` begin
 * redirections and memory sizes (from memory).
 */
export function readScript(bytes: Uint8Array): ScriptLine[] {
  return writtenLines(bytes).map((each) => ({ ...each, ...asked(each.text) }));
}

function writtenLines(bytes: Uint8Array): Pick<ScriptLine, "line" | "offset" | "text">[] {
  if (bytes.length > LONGEST_LIST || !isText(bytes)) return [];
  return textLines(bytes).flatMap(({ from, to }, index) => {
    const text = lineText(bytes, from, to);
    return text.trim() === "" ? [] : [{ line: index + 1, offset: from, text: withoutPassword(text) }];
  });
}

function asked(text: string): Pick<ScriptLine, "asks" | "devices"> {
  const asks: string[] = [];
  const devices: string[] = [];
  if (text.trimStart().startsWith("*")) return { asks, devices };
  for (const command of text.split(/[;&!()]+/)) {
    for (const found of command.matchAll(/(?:^|[\s<>=])\/([A-Za-z][A-Za-z0-9_]*)/g)) devices.push(found[1]!);
    const words = command
      .trim()
      .split(/\s+/)
      .filter((word) => !/^[#<>]/.test(word));
    const [first = "", ...rest] = words;
    const name = /^[^<>#]*/.exec(first)![0];
    const verb = name.toLowerCase();
    if (name === "" || name.startsWith("*") || OWN_COMMANDS.has(verb) || name.includes("=")) continue;
    asks.push(name.replace(/^.*\//, ""));
    if (ASKS_FOR_MODULE.has(verb)) asks.push(...rest.filter((word) => !word.startsWith("-")));
  }
  return { asks, devices };
}

/** A program that goes to a fixed place in memory. */
export interface LoadedProgram {
  path: string;
  loadAt: number;
  size: number;
  /** Last address it fills. */
  last: number;
  /** Why the address is known. */
  how: string;
}

/** Programs of an extent-entry volume begin at 0100 (the 8080/Z80 system manual's program area; from memory). */
export const PROGRAM_AREA = 0x100;

export const commandFile = (path: string, size: number): LoadedProgram => ({
  path,
  loadAt: PROGRAM_AREA,
  size,
  last: PROGRAM_AREA + size - 1,
  how: "command files are loaded at the program area, $0100",
});

/** A program file of a chained-block volume: its first two bytes are the load address, low byte first. */
export function programFile(path: string, bytes: Uint8Array): LoadedProgram | null {
  if (bytes.length < 3) return null;
  const loadAt = u16le(bytes, 0);
  const size = bytes.length - 2;
  return { path, loadAt, size, last: loadAt + size - 1, how: "the file's first two bytes, low byte first" };
}

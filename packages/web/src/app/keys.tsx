import { useEffect, useState } from "react";
import { Button, Dialog, Heading, Modal, ModalOverlay, Switch } from "react-aria-components";
import { GROUPS, type Group, type Page, pagesOf } from "./pages.ts";
import { go, routeTo } from "./route.ts";

const KEY = "rouse-single-keys";

/** Single keys can be turned off, for people whose speech or switch input may type them by chance. */
const single = {
  get: (): boolean => localStorage.getItem(KEY) !== "off",
  set: (on: boolean): void => localStorage.setItem(KEY, on ? "on" : "off"),
};

const isWriting = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement && (target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName));

const groups = Object.keys(GROUPS) as Group[];

/** A group's number opens its first page, pressed again the next one; `?` the list of keys. Outside text fields, and only where not turned off. */
export function useShortcuts(current: Page | undefined, onKeys: () => void): void {
  useEffect(() => {
    const hear = (event: KeyboardEvent): void => {
      if (event.ctrlKey || event.metaKey || event.altKey || isWriting(event.target) || !single.get()) return;
      if (event.target instanceof HTMLElement && event.target.closest("[role=application],[role=dialog]")) return;
      const group = /^[1-9]$/.test(event.key) ? groups[Number(event.key) - 1] : undefined;
      if (group) {
        const pages = pagesOf(group);
        go(routeTo([pages[(pages.findIndex((page) => page === current) + 1) % pages.length]!.path]));
      } else if (event.key === "?") onKeys();
      else return;
      event.preventDefault();
    };
    window.addEventListener("keydown", hear);
    return () => window.removeEventListener("keydown", hear);
  }, [current, onKeys]);
}

const KEYS: readonly (readonly [string, readonly (readonly [string, string])[]])[] = [
  [
    "Anywhere",
    [
      ...groups.map(
        (group, index) =>
          [
            String(index + 1),
            `${GROUPS[group]}: ${pagesOf(group)
              .map(({ title }) => title)
              .join(", ")}; again for the next`,
          ] as const,
      ),
      ["?", "This list"],
    ],
  ],
  [
    "On the chain",
    [
      ["Arrows, Home, End", "Go from one thing on the table to the next"],
      ["Enter", "Open its findings"],
    ],
  ],
  [
    "In the bench file",
    [
      ["Ctrl or ⌘ + S", "Save"],
      ["Ctrl + Space", "What can stand here"],
      ["Ctrl or ⌘ + Z", "Undo"],
      ["Escape, then Tab", "Leave the editor"],
    ],
  ],
  [
    "On the picture of a disk",
    [
      ["Left, Right", "The sector before or after on the track"],
      ["Up, Down", "The track outside or inside"],
      ["Page Up, Page Down", "Ten tracks outwards or inwards"],
      ["Home, End", "First or last sector of the track"],
      ["Ctrl + Home, Ctrl + End", "First or last block of the disk"],
      ["S", "The other side"],
      ["Enter", "Select the file that owns it"],
    ],
  ],
  [
    "On the picture of the memory",
    [
      ["Left, Right", "The byte before or after"],
      ["Up, Down", "256 bytes back or on"],
      ["Page Up, Page Down", "The stretch before or after"],
      ["Home, End", "$0000 or $FFFF"],
    ],
  ],
  [
    "Typing a test program in",
    [
      ["Down or Enter, Up", "The next line, the one before"],
      ["Page Up, Page Down", "Ten lines"],
      ["Home, End", "First or last line"],
    ],
  ],
  [
    "On a track and on the waterfall",
    [
      ["Left, Right", "The field, cell or span before or after"],
      ["Up, Down", "Nearer or farther on a track; another lane on the waterfall"],
      ["+, −, 0", "Nearer, farther, the whole"],
      ["Page Up, Page Down", "The sector before or after"],
      ["Ctrl + Left, Ctrl + Right", "From field to field, however near"],
      ["Home, End", "First or last"],
    ],
  ],
  [
    "On the keyboard of a rehearsal",
    [
      ["Any key, Ctrl + letter, Escape", "Goes to the machine"],
      ["Tab", "Leave the keyboard; the button Tab sends one"],
    ],
  ],
  [
    "On the screen of a line",
    [
      ["Ctrl + .", "Leave the screen for what stands below it"],
      ["Ctrl + Break", "Send a break"],
    ],
  ],
  [
    "On the show",
    [
      ["Ctrl or ⌘ + S, + Z, + Y", "Save the script, undo, do again"],
      ["Space", "Play or rest a captured session, where its screen has the focus"],
      ["Left, Right", "Five seconds back or on"],
      ["Home, End", "To its beginning or end"],
    ],
  ],
  [
    "On the prompter",
    [
      ["Right, Down, Space, Enter, Page Down", "The next scene"],
      ["Left, Up, Backspace, Page Up", "The scene before"],
    ],
  ],
];

export function KeysDialog({ isOpen, onOpenChange }: { isOpen: boolean; onOpenChange: (open: boolean) => void }) {
  const [on, setOn] = useState(single.get);
  return (
    <ModalOverlay className="overlay" isOpen={isOpen} onOpenChange={onOpenChange} isDismissable>
      <Modal className="modal">
        <Dialog className="dialog">
          <Heading slot="title">Keys</Heading>
          <div className="keys">
            {KEYS.map(([title, keys]) => (
              <section key={title}>
                <h3>{title}</h3>
                <dl>
                  {keys.map(([key, about]) => (
                    <div key={key}>
                      <dt>
                        <kbd>{key}</kbd>
                      </dt>
                      <dd>{about}</dd>
                    </div>
                  ))}
                </dl>
              </section>
            ))}
          </div>
          <Switch
            className="switch"
            isSelected={on}
            onChange={(value) => {
              single.set(value);
              setOn(value);
            }}
          >
            <span className="switch-track" />
            Single keys (1 to {groups.length}, ?) are on
          </Switch>
          <Button className="button" slot="close">
            Close
          </Button>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}

// biome-ignore-all lint/correctness/noComponentHookFactories: each test has parts of its own
import { beforeEach, describe, expect, it } from "vitest";
import { createRoot } from "./dom.ts";
import { useEffect, useId, useMemo, useRef, useState, useSyncExternalStore } from "./index.ts";
import { type Child, Fragment, jsx, type Part, type Props } from "./jsx.ts";

let place: HTMLElement;
beforeEach(() => {
  document.body.innerHTML = "<div></div>";
  place = document.body.firstElementChild as HTMLElement;
});
const h = (type: string | Part, props: Props = {}, key?: string) => jsx(type, props, key);
const show = (part: Part): void => createRoot(place).render(h(part));
const settled = () => new Promise((done) => setTimeout(done));

describe("the phone's own drawing", () => {
  it("writes elements, attributes, texts and what is left out", () => {
    show(() =>
      h("p", {
        className: "a",
        htmlFor: "x",
        "aria-pressed": false,
        disabled: false,
        hidden: true,
        tabIndex: -1,
        spellCheck: false,
        style: { "--size": 2, minWidth: 0 },
        children: [
          "one ",
          2,
          null,
          false,
          [h("b", { children: "<i>" }), undefined],
          h("svg", { viewBox: "0 0 1 1", children: h("path", { d: "M0" }) }),
        ],
      }),
    );
    expect(place.innerHTML).toBe(
      '<p class="a" for="x" aria-pressed="false" hidden="" tabindex="-1" spellcheck="false" style="--size: 2; min-width: 0px;">one 2<b>&lt;i&gt;</b><svg viewBox="0 0 1 1"><path d="M0"></path></svg></p>',
    );
    expect(place.querySelector("path")?.namespaceURI).toBe("http://www.w3.org/2000/svg");
  });

  it("draws changes of one moment once, and touches only what differs", async () => {
    let drawn = 0;
    const Counter: Part = () => {
      drawn += 1;
      const [count, setCount] = useState(0);
      const press = (): void => {
        setCount((before) => before + 1);
        setCount((before) => before + 1);
        setCount((before) => before);
      };
      return h("div", {
        children: [h("button", { onClick: press, children: `at ${count}` }), count > 1 && h("em", {}), h("i", {})],
      });
    };
    show(Counter);
    const [button, last] = [place.querySelector("button")!, place.querySelector("i")];
    button.click();
    await settled();
    expect(drawn).toBe(2);
    expect(place.innerHTML).toBe("<div><button>at 2</button><em></em><i></i></div>");
    expect(place.querySelector("button")).toBe(button);
    expect(place.querySelector("i")).toBe(last);
  });

  it("keeps what has a key when it moves, and forgets what is gone", async () => {
    const log: string[] = [];
    const Item: Part = ({ name }) => {
      useEffect(() => {
        log.push(`+${name}`);
        return () => log.push(`-${name}`) as unknown as undefined;
      }, [name]);
      return h("li", { children: String(name) });
    };
    let set: (names: string[]) => void = () => {};
    const List: Part = () => {
      const [names, setNames] = useState(["a", "b", "c"]);
      set = setNames;
      return h("ol", { children: names.map((name) => h(Item, { name }, name)) });
    };
    show(List);
    const [a, b] = place.querySelectorAll("li");
    set(["c", "b", "d"]);
    await settled();
    expect(place.textContent).toBe("cbd");
    expect(place.querySelectorAll("li")[1]).toBe(b);
    expect(a?.isConnected).toBe(false);
    expect(log).toEqual(["+a", "+b", "+c", "-a", "+d"]);
  });

  it("follows fields by what they hold, and leaves the caret where it is", async () => {
    let value = "";
    const Field: Part = () => {
      const [text, setText] = useState("start");
      value = text;
      return h("label", {
        children: [
          text,
          h("input", {
            value: text,
            onChange: (event: InputEvent) => setText((event.target as HTMLInputElement).value),
          }),
          h("input", { type: "checkbox", checked: text === "on", onChange: () => setText("on") }),
          h("progress", { value: text.length, max: 9 }),
        ] as Child,
      });
    };
    show(Field);
    const [field, box] = place.querySelectorAll("input");
    expect(field!.value).toBe("start");
    field!.focus();
    field!.value = "other";
    field!.setSelectionRange(2, 2);
    field!.dispatchEvent(new Event("input", { bubbles: true }));
    await settled();
    expect([value, field!.value, field!.selectionStart]).toEqual(["other", "other", 2]);
    expect(document.activeElement).toBe(field);
    box!.click();
    await settled();
    expect([value, field!.value, box!.checked]).toEqual(["on", "on", true]);
    expect(place.querySelector("progress")?.getAttribute("value")).toBe("2");
  });

  it("gives parts of another kind states of their own", async () => {
    let turn: (to: boolean) => void = () => {};
    const One: Part = () => h("p", { children: useState("one")[0] });
    const Other: Part = () => h("p", { children: useState("other")[0] });
    show(() => {
      const [is, set] = useState(true);
      turn = set;
      return h(Fragment, { children: is ? h(One) : h(Other) });
    });
    turn(false);
    await settled();
    expect(place.innerHTML).toBe("<p>other</p>");
  });

  it("remembers, refers, names and listens to what is outside", async () => {
    let outside = 1;
    let told = (): void => {};
    let made = 0;
    const subscribe = (listener: () => void) => {
      told = listener;
      return () => {};
    };
    let ref: { current: Element | null } = { current: null };
    show(() => {
      const value = useSyncExternalStore(subscribe, () => outside);
      ref = useRef<Element | null>(null);
      const [one, other] = [useId(), useId()];
      const double = useMemo(() => {
        made += 1;
        return value * 2;
      }, [value]);
      return h("p", { ref, id: one, title: other, children: double });
    });
    expect(place.textContent).toBe("2");
    const id = place.querySelector("p")!.id;
    outside = 4;
    told();
    await settled();
    expect(place.textContent).toBe("8");
    told();
    await settled();
    expect(made).toBe(2);
    expect(ref.current).toBe(place.querySelector("p"));
    expect(ref.current?.id).toBe(id);
    expect(ref.current?.getAttribute("title")).not.toBe(id);
  });
});

/** What JSX is compiled to on the phone's page: descriptions of what is to be seen. */
export type Part = (props: Props) => Child;
export type Props = Readonly<Record<string, unknown>> & { children?: Child };
export type Child = View | string | number | boolean | null | undefined | readonly Child[];

export interface View {
  type: string | Part;
  props: Props;
  key: string | undefined;
}

export const Fragment: Part = ({ children }) => children;

export const jsx = (type: View["type"], props: Props, key?: unknown): View => ({
  type,
  props,
  key: key === undefined ? undefined : String(key),
});
/** The same, where there are several children. */
export const jsxs = (type: View["type"], props: Props, key?: unknown): View => jsx(type, props, key);

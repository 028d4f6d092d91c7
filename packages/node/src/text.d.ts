/** A file taken in as its text (scripts/yaml-plugin.mjs). */
declare module "*?text" {
  const text: string;
  export default text;
}

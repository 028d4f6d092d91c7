/** Catalogue files are turned into plain data by the bundler (scripts/yaml-plugin.mjs). */
declare module "*.yaml" {
  const data: unknown;
  export default data;
}

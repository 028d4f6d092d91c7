// The map of the house, held by a tool: in core a room may use only the rooms listed before it.
const ROOMS = [
  "errors",
  "quantity",
  "bytes",
  "geometry",
  "catalogue",
  "bench",
  "recording",
  "volume",
  "system",
  "memory",
  "board",
  "line",
  "terminal",
  "transfer",
  "timing",
  "cpu",
  "assemble",
  "diagnose",
  "rehearse",
  "fit",
  "runbook",
  "show",
  "dossier",
];

const upward = ROOMS.slice(0, -1).map((room, index) => ({
  name: `core-${room}-looks-down`,
  comment: `${room} may use only the rooms listed before it`,
  severity: "error",
  from: { path: `^packages/core/src/${room}/`, pathNot: "\\.test\\.ts$" },
  to: { path: `^packages/core/src/(${ROOMS.slice(index + 1).join("|")})/` },
}));

module.exports = {
  forbidden: [
    ...upward,
    {
      name: "core-is-pure",
      comment: "core runs anywhere: no Node, no I/O, no other workspace",
      severity: "error",
      from: { path: "^packages/core/src/", pathNot: "\\.test\\.ts$" },
      to: { dependencyTypes: ["core"] },
    },
    {
      name: "core-knows-nobody-above",
      severity: "error",
      from: { path: "^packages/core/" },
      to: { path: "^packages/(node|web)/" },
    },
    {
      name: "core-has-two-libraries",
      comment: "yaml and zod do no I/O; another library needs a reason here",
      severity: "error",
      from: { path: "^packages/core/src/", pathNot: "\\.test\\.ts$" },
      to: { path: "node_modules", pathNot: "node_modules/(yaml|zod)/" },
    },
    {
      name: "node-rooms-look-down",
      comment: "cli uses server, store and devices; server uses store and devices; store and devices use neither",
      severity: "error",
      from: { path: "^packages/node/src/(store|devices)/" },
      to: { path: "^packages/node/src/(server|cli)/" },
    },
    {
      name: "server-does-not-know-the-command",
      severity: "error",
      from: { path: "^packages/node/src/server/" },
      to: { path: "^packages/node/src/cli/" },
    },
    {
      name: "web-runs-in-a-browser",
      severity: "error",
      from: { path: "packages/web/src/", pathNot: "\\.test\\.tsx?$" },
      to: { path: "^packages/node/|^(node:|fs$|path$)" },
    },
    {
      name: "no-circles",
      comment: "looked for in the house without its types (scripts/layers.mjs)",
      severity: "error",
      from: { path: "^\\.build/layers/" },
      to: { circular: true },
    },
  ],
  options: {
    parser: "swc",
    doNotFollow: { path: "node_modules" },
    tsPreCompilationDeps: true,
    tsConfig: undefined,
    enhancedResolveOptions: {
      extensions: [".ts", ".tsx", ".js", ".mjs"],
      exportsFields: ["exports"],
      conditionNames: ["import"],
    },
  },
};

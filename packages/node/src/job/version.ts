import manifest from "../../package.json" with { type: "json" };

/** Version of Rouse, told in reports. */
export const VERSION: string = manifest.version;

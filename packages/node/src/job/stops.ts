import type { JobReport } from "@rouse/core/fit";

/** What stops an image on its way onto the disk: findings of the first three links that speak of it, or of any image. */
export const stopsOf = (report: JobReport, imageName: string | undefined): string[] =>
  report.links
    .filter((each) => ["image", "medium", "drive"].includes(each.link))
    .flatMap((each) => each.findings)
    .filter((each) => each.verdict === "stops" && (imageName === undefined || each.id.endsWith(`/${imageName}`)))
    .map((each) => each.sentence);

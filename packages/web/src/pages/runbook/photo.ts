/** Largest photograph that the server takes. */
const LIMIT = 4 * 1024 * 1024;
const KEPT_AS_THEY_ARE = new Set(["image/jpeg", "image/png", "image/webp"]);
/** Longest sides to try, in pixels. */
const SIDES = [4096, 3072, 2048, 1280];

/**
 * A photograph as it can be sent: as it is where it is small enough and of a kind that is kept; else drawn anew as JPEG,
 * as large as fits. Undefined where the browser cannot read it.
 */
export async function photoToSend(file: Blob): Promise<Blob | undefined> {
  if (file.size <= LIMIT && KEPT_AS_THEY_ARE.has(file.type)) return file;
  let picture: ImageBitmap;
  try {
    picture = await createImageBitmap(file);
  } catch {
    return undefined;
  }
  try {
    for (const side of SIDES) {
      const scale = Math.min(1, side / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
      const drawn = await new Promise<Blob | null>((told) => canvas.toBlob(told, "image/jpeg", 0.88));
      if (drawn && drawn.size <= LIMIT) return drawn;
    }
    return undefined;
  } finally {
    picture.close();
  }
}

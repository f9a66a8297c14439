// Photos: taken with the phone's own camera, shrunk here, kept here until the shop has them. Position data goes in the shrinking.

import { note } from "./outbox.js";
import { changed, phone } from "./phone.js";
import { say } from "./words.js";

const LONG_SIDE = 1600;

const QUALITY = 0.8;

/** A file from the camera, or null if none was taken. */
export function chooseImage() {
  return new Promise((resolve) => {
    const input = document.createElement("input");
    Object.assign(input, { type: "file", accept: "image/*", className: "unseen", tabIndex: -1 });
    input.setAttribute("capture", "environment");
    input.setAttribute("aria-label", say("photo.title"));
    const over = (file) => {
      input.remove();
      resolve(file);
    };
    input.onchange = () => over(input.files[0] ?? null);
    input.oncancel = () => over(null);
    document.body.append(input);
    input.click();
  });
}

/**
 * Shrink to at most 1600 px and JPEG.
 * @param {Blob} file
 * @returns {Promise<{hash: string, type: string, bytes: ArrayBuffer}>}
 */
export async function shrink(file) {
  const image = await createImageBitmap(file);
  const scale = Math.min(1, LONG_SIDE / Math.max(image.width, image.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(image.width * scale));
  canvas.height = Math.max(1, Math.round(image.height * scale));
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  const bytes = await blob.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return { hash: Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join(""), type: "image/jpeg", bytes };
}

/** Take one photo; null when there is none or the file is no picture (the screen says so). */
export async function takePhoto() {
  const file = await chooseImage();
  if (!file) return null;
  try {
    return await shrink(file);
  } catch {
    phone.trouble = say("photo.bad");
    changed(false);
    return null;
  }
}

/** Take a photo for these task keys and note it. */
export async function askPhoto(job, tasks) {
  const photo = await takePhoto();
  if (photo)
    await note(job, { type: "photo", tasks, data: { hash: photo.hash, size: photo.bytes.byteLength } }, [photo]);
}

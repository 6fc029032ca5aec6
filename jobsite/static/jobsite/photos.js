// A photograph made smaller on the device: upright, at most 1600 pixels a side, as JPEG. Drawing it anew leaves out all that
// the camera wrote into it, also where it was taken; when it was taken is written into the new file again. What cannot be
// decoded here is kept as it is: the server says what it makes of it.

const LONGEST = 1600;
const QUALITY = 0.8;

// --- when it was taken: EXIF 2.32 (CIPA DC-008) in the APP1 segment of a JPEG, a TIFF 6.0 structure ---
// The numbers below are written from memory; the tests let Pillow read back what is written, and read what Pillow wrote.

const HEAD = "Exif\0\0";
const EXIF_IFD = 0x8769; // in the first directory: where the directory of the photograph stands
const TAKEN = 0x9003; // DateTimeOriginal: "2026:11:26 08:12:00", 20 bytes with the NUL
const LENGTH = 20;
const SHAPE = /^\d{4}:\d\d:\d\d \d\d:\d\d:\d\d$/;
const text = (bytes, from, length) => String.fromCharCode(...bytes.subarray(from, from + length));

// The offset of the value of `tag` in the directory at `at`, counted from the TIFF head; -1 where it is not there.
const entry = (tiff, at, tag, little) => {
  const count = tiff.getUint16(at, little);
  for (let n = 0; n < count; n += 1) {
    const here = at + 2 + 12 * n;
    if (tiff.getUint16(here, little) === tag) return tiff.getUint32(here + 8, little);
  }
  return -1;
};
const inTiff = (bytes) => {
  const tiff = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const little = text(bytes, 0, 2) === "II";
  const directory = entry(tiff, tiff.getUint32(4, little), EXIF_IFD, little);
  const at = directory < 0 ? -1 : entry(tiff, directory, TAKEN, little);
  return at < 0 ? "" : text(bytes, at, LENGTH - 1);
};
const inJpeg = (bytes) => {
  const view = new DataView(bytes.buffer);
  if (view.getUint16(0) !== 0xffd8) return "";
  for (let at = 2; view.getUint8(at) === 0xff && view.getUint8(at + 1) !== 0xda; at += 2 + view.getUint16(at + 2)) {
    if (view.getUint8(at + 1) === 0xe1 && text(bytes, at + 4, 6) === HEAD) {
      return inTiff(bytes.subarray(at + 10, at + 2 + view.getUint16(at + 2)));
    }
  }
  return "";
};
// The camera's own local time, as EXIF writes it; "" where it says none.
export const takenAt = async (file) => {
  try {
    const found = inJpeg(new Uint8Array(await file.slice(0, 256 * 1024).arrayBuffer()));
    return SHAPE.test(found) ? found : "";
  } catch {
    return ""; // cut off or damaged
  }
};

const SEGMENT = 2 + 2 + 6 + 8 + 18 + 18 + LENGTH; // marker, length, head, TIFF head, two directories of one entry, the text
const segment = (taken) => {
  const bytes = new Uint8Array(SEGMENT);
  const write = (words, at) => [...words].forEach((letter, n) => { bytes[at + n] = letter.charCodeAt(0); });
  const view = new DataView(bytes.buffer);
  view.setUint16(0, 0xffe1);
  view.setUint16(2, SEGMENT - 2);
  write(HEAD, 4);
  const tiff = new DataView(bytes.buffer, 10);
  write("II", 10);
  tiff.setUint16(2, 42, true);
  tiff.setUint32(4, 8, true);
  const directory = (at, tag, type, count, value) => {
    tiff.setUint16(at, 1, true);
    tiff.setUint16(at + 2, tag, true);
    tiff.setUint16(at + 4, type, true);
    tiff.setUint32(at + 6, count, true);
    tiff.setUint32(at + 10, value, true);
  };
  directory(8, EXIF_IFD, 4, 1, 26); // one LONG
  directory(26, TAKEN, 2, LENGTH, 44); // ASCII
  write(taken, 10 + 44);
  return bytes;
};
// `jpeg` with the time in it, right behind its first marker.
export const withTaken = (jpeg, taken) =>
  taken ? new Blob([jpeg.slice(0, 2), segment(taken), jpeg.slice(2)], { type: "image/jpeg" }) : jpeg;

// --- smaller ---

const redrawn = async (file) => {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = Object.assign(document.createElement("canvas"), {
    width: Math.max(1, Math.round(picture.width * scale)),
    height: Math.max(1, Math.round(picture.height * scale)),
  });
  const ink = canvas.getContext("2d");
  Object.assign(ink, { imageSmoothingQuality: "high", fillStyle: "white" });
  ink.fillRect(0, 0, canvas.width, canvas.height); // what is transparent
  ink.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((done) => { canvas.toBlob(done, "image/jpeg", QUALITY); });
};

// `file` as it is to be kept and sent.
export const shrink = async (file) => {
  if (!file.type.startsWith("image/") && file.type !== "") return file;
  try {
    const smaller = await redrawn(file);
    if (!smaller || smaller.size >= file.size) return file;
    const named = `${file.name.replace(/\.\w+$/, "") || "photo"}.jpg`;
    return new File([withTaken(smaller, await takenAt(file))], named, { type: "image/jpeg", lastModified: file.lastModified });
  } catch {
    return file;
  }
};

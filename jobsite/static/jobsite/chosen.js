// The photographs (and other files) chosen for a form: small pictures of them beside its field, each of which can be taken
// off again. They are made smaller at once (photos.js); `ready` is waited for before the form is sent.

import { shrink } from "./photos.js";

const element = (name, more = {}) => Object.assign(document.createElement(name), more);
export const thumb = (file, alt) => {
  if (!file.type.startsWith("image/")) return element("span", { textContent: `${file.name} ` });
  const picture = element("img", { alt, width: 96, src: URL.createObjectURL(file) });
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
  picture.addEventListener("error", () => picture.replaceWith(element("span", { textContent: `${file.name || "Photo"} ` })));
  return picture;
};
export const takeOff = (words, does) => {
  const off = element("button", { type: "button", className: "button plain", textContent: "Take off" });
  off.setAttribute("aria-label", words);
  off.addEventListener("click", does);
  return off;
};

// Draws those of `state.photos` below the field they were chosen in; `taken` is called when one is taken off.
export const draw = (form, state, taken) => {
  const input = form.querySelector("input[type=file]");
  if (!input) return;
  const field = input.closest(".field") ?? input.parentElement;
  field.querySelector(".photos.chosen")?.remove();
  if (!state.photos.length) return;
  const list = element("ul", { className: "photos chosen" });
  state.photos.forEach((photo, at) => {
    const row = element("li");
    const off = takeOff(`Take off photo ${at + 1}`, () => {
      state.photos.splice(at, 1);
      draw(form, state, taken);
      taken();
    });
    row.append(thumb(photo.file, `Photo ${at + 1}, not saved yet`), off);
    list.append(row);
  });
  field.append(list);
};

// Takes over what was chosen in `input`, smaller; where photos follow a form on their own, `to` says to which address.
export const take = async (form, state, input) => {
  const { name, multiple } = input;
  const to = input.hasAttribute("data-hold-here") ? undefined : form.dataset.holdPhotos;
  const files = [...input.files];
  input.value = "";
  if (!files.length) return;
  const before = state.ready;
  const work = async () => {
    await before;
    if (!multiple) state.photos = state.photos.filter((photo) => photo.name !== name);
    for (const file of files) state.photos.push({ name, file: await shrink(file), ...(to ? { to } : {}) });
  };
  state.ready = work();
  await state.ready;
};

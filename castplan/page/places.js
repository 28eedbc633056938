// A place on the part in numbers, where there is no picture to click on.
import { h } from "./elements.js";
import { say } from "./say.js";

const AXES = ["x", "y", "z"];

/**
 * Ask for a place in the file's own axes; null if the user changes their mind.
 * @param {string} says what the place is for
 * @returns {Promise<number[] | null>}
 */
export function askPlace(says) {
  return new Promise((done) => {
    const fields = AXES.map((axis) => h("input", { type: "number", step: "any", required: true, name: axis }));
    const given = () => fields.map((field) => Number(field.value));
    const dialog = h("dialog", { "aria-labelledby": "ask-place" },
      h("form", { method: "dialog", onsubmit: () => { dialog.close("place"); } },
        h("h2", { id: "ask-place" }, say("page_room.place_in_numbers")),
        h("p", {}, says, " ", say("page_room.no_picture_to_click")),
        h("div", { class: "row" }, fields.map((field, at) => h("label", {}, `${AXES[at]} (mm)`, field))),
        h("div", { class: "row" }, h("button", { class: "main", type: "submit" }, say("page_room.take_place")),
          h("button", { onclick: () => dialog.close() }, say("page.cancel")))));
    dialog.addEventListener("close", () => {
      dialog.remove();
      done(dialog.returnValue === "place" ? given() : null);
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}

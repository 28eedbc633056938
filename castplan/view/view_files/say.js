// The texts of the catalogue, in scripts. Who writes the page puts the texts that its
// scripts name beside them (castplan/words/page_texts.py), and useTexts takes them.
let texts = {};

export function useTexts(given) { texts = given; }

/**
 * A text with its fields filled in: say('view.apart', { length: '3.0 mm' }).
 *
 * One that counts has two forms; the field n chooses. Keys are written out in full,
 * in quotes, here or in a table, so that they are found.
 */
export function say(key, fields = {}) {
  const entry = texts[key];
  if (entry === undefined) throw new Error(`there is no text ${key}`);
  const text = typeof entry === "string" ? entry : entry[fields.n === 1 ? "one" : "other"];
  return text.replace(/\{\{|\}\}|\{(\w+)\}/g, (found, name) => {
    if (name === undefined) return found[0];
    if (!(name in fields)) throw new Error(`${key} needs the field ${name}`);
    return fields[name];
  });
}

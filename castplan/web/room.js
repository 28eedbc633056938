// The main room: the 3D view of the plan beside the cards.
import { ask } from "./talk.js";

export class Room {
  constructor(root) {
    this.root = root;
    this.view = null;
    this.about = { cards: [] };
    ask("/api/about").then((about) => { if (about) this.about = about; });
  }

  show(isShown) { this.root.hidden = !isShown; }

  clear() { this.root.replaceChildren(); this.view = null; }

  async load(job, told, isCurrent) {}

  speakOf(card) {}

  flyTo(place) {}
}

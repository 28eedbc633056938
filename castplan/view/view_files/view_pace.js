// How large pictures are drawn while the eye moves: on a computer that is slow at it, smaller.

const SLOW_MS = 45; // between two pictures while it moves
const SMALLER = 0.5; // of the size, either way
const RESTS_MS = 160; // from when on it is drawn sharp again

export class Pace {
  /** @param {() => void} again asks for a new picture */
  constructor(again) {
    this.again = again;
    this.eye = ""; // of the last picture
    this.at = 0; // when it was drawn, ms
    this.ms = 0; // between pictures while the eye moves, the last ones counting most
    this.timer = 0;
  }

  /** A share of the picture's full size, for the matrix of an eye. @param {Float32Array} matrix */
  share(matrix) {
    const now = performance.now(), eye = matrix.join(), past = now - this.at;
    const isMoving = this.eye !== "" && eye !== this.eye;
    if (isMoving && past < 4 * RESTS_MS) this.ms = 0.6 * this.ms + 0.4 * past;
    Object.assign(this, { eye, at: now });
    clearTimeout(this.timer);
    if (!isMoving || this.ms < SLOW_MS) return 1;
    this.timer = window.setTimeout(this.again, RESTS_MS);
    return SMALLER;
  }
}

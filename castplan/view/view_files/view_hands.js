// Mouse, fingers and keys that turn, move and point into a CastView.

const CLICK_PX = 5;
const TURN = 0.008; // radians a px
const STILL_MS = 90; // a picture held still so long before it is let go stays
const KEY_TURNS = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, 0.12], ArrowDown: [0, -0.12] };

/**
 * Drag to turn; with shift, another button or two fingers to move; pinch or wheel to come
 * closer to what is pointed at; a double click sets what it turns round.
 */
export function listen(view) {
  const { canvas } = view, down = new Map();
  let moved = 0, pinch = null, speed = [0, 0], last = 0;
  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const spread = () => {
    const [p, q] = [...down.values()];
    return { size: Math.hypot(p[0] - q[0], p[1] - q[1]), middle: [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])] };
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, place(event));
    if (down.size === 1) { moved = 0; view.camera.glide = null; }
    pinch = down.size === 2 ? spread() : null;
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) return;
    const [x, y] = place(event), [x0, y0] = down.get(event.pointerId);
    down.set(event.pointerId, [x, y]);
    moved += Math.hypot(x - x0, y - y0);
    if (down.size === 2 && pinch) {
      const now = spread();
      view.zoom(pinch.size / Math.max(now.size, 1), now.middle);
      view.camera.pan(now.middle[0] - pinch.middle[0], now.middle[1] - pinch.middle[1]);
      pinch = now;
    } else if (down.size === 1 && moved > CLICK_PX) {
      if (event.shiftKey || event.buttons & 6) view.camera.pan(x - x0, y - y0);
      else {
        const turn = [-TURN * (x - x0), TURN * (y - y0)], past = Math.max(event.timeStamp - last, 1);
        view.camera.turn(...turn);
        speed = turn.map((value, k) => 0.5 * speed[k] + (0.5 * value) / past);
        last = event.timeStamp;
      }
    }
  });
  const lift = (event) => {
    if (down.size === 1 && moved <= CLICK_PX && event.type === "pointerup") view.onPick(view.pick(...place(event)));
    const isTurned = down.size === 1 && moved > CLICK_PX && !event.shiftKey;
    if (isTurned && event.timeStamp - last < STILL_MS) view.camera.letGo(speed);
    speed = [0, 0];
    if (down.size > 1) moved = CLICK_PX + 1; // lifting the second finger is no click
    down.delete(event.pointerId);
    pinch = null;
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    view.zoom(Math.exp(0.0015 * event.deltaY), place(event));
  }, { passive: false });
  canvas.addEventListener("dblclick", (event) => view.pivot(...place(event)));
  canvas.addEventListener("keydown", (event) => press(view, event));
}

/** Arrows turn, with shift they move; + and - zoom, 0 shows all, Enter points at the middle, Escape calls off. */
function press(view, event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const turn = KEY_TURNS[event.key];
  if (turn && event.shiftKey) view.camera.pan(-200 * turn[0], 200 * turn[1]);
  else if (turn) view.camera.turn(...turn);
  else if (event.key === "+" || event.key === "=") view.zoom(0.85);
  else if (event.key === "-") view.zoom(1 / 0.85);
  else if (event.key === "0" || event.key === "Home") view.frame();
  else if (event.key === "Escape") view.onEscape();
  else if (event.key === "Enter" || event.key === " ") view.onPick(view.pickMiddle());
  else return;
  event.preventDefault();
}

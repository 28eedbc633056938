// The soft shadow that things throw on the bench under them, darkest where they stand on it.
import { dot, add } from "./view_mesh.js";
import { uprights } from "./view_camera.js";
import { program, SHADE_VERTEX, SHADE_FRAGMENT } from "./view_shaders.js";

const PIXELS = 128;
const WIDE = 1.7; // of the radius of what is shown: how far the shadow's square goes
const FADE = 0.5; // of the radius: what hangs so high throws a third of the shadow

export class Shadow {
  constructor(gl) {
    this.gl = gl;
    this.program = program(gl, SHADE_VERTEX, SHADE_FRAGMENT, ["aPoint"]);
    this.texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, this.texture);
    gl.texStorage2D(gl.TEXTURE_2D, Math.log2(PIXELS) + 1, gl.RGBA8, PIXELS, PIXELS);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.LINEAR_MIPMAP_LINEAR);
    for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, side, gl.CLAMP_TO_EDGE);
    this.depth = gl.createRenderbuffer();
    gl.bindRenderbuffer(gl.RENDERBUFFER, this.depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT16, PIXELS, PIXELS);
    this.target = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, this.texture, 0);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, this.depth);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    this.array = gl.createVertexArray();
    this.buffer = gl.createBuffer();
    this.key = null;
  }

  /**
   * The bench seen from below: a matrix that puts what stands over the square at
   * `middle` on the ground into the shadow's picture, its height over the ground as depth.
   */
  _fromBelow({ middle, up, radius }) {
    const [x, y] = uprights(up), wide = WIDE * radius, out = new Float32Array(16);
    [[x, wide, dot(x, middle)], [y, wide, dot(y, middle)], [up, radius, dot(up, middle) + radius]].forEach(([axis, size, off], r) => {
      for (let k = 0; k < 3; k += 1) out[4 * k + r] = axis[k] / size;
      out[12 + r] = -off / size;
    });
    out[15] = 1;
    return out;
  }

  /** Draw it; `throwAll(matrix, ground)` draws what throws it, `key` says what that is and where. */
  draw(ground, key, view, ink, throwAll) {
    const { gl } = this;
    if (dot(ground.up, add(view.eye.at, ground.middle, -1)) <= 0) return; // seen from under the bench
    const whole = key + ground.middle.map((value) => value.toFixed(2)) + ground.up;
    if (this.key !== whole) {
      gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
      gl.viewport(0, 0, PIXELS, PIXELS);
      gl.clearColor(0, 0, 0, 0);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      throwAll(this._fromBelow(ground), { ...ground, fade: FADE * ground.radius });
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
      gl.bindTexture(gl.TEXTURE_2D, this.texture);
      gl.generateMipmap(gl.TEXTURE_2D);
      gl.viewport(0, 0, gl.drawingBufferWidth, gl.drawingBufferHeight);
      this.key = whole;
    }
    const { made, at } = this.program, [x, y] = uprights(ground.up), wide = WIDE * ground.radius;
    const corner = (s, t) => [...add(add(ground.middle, x, s * wide), y, t * wide), s, t];
    const points = [corner(-1, -1), corner(1, -1), corner(-1, 1), corner(1, 1)].flat();
    gl.useProgram(made);
    gl.bindVertexArray(this.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.buffer);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(points), gl.DYNAMIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 20, 0);
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(1, 2, gl.FLOAT, false, 20, 12);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, this.texture);
    gl.uniform1i(at.uShade, 0);
    gl.uniform3fv(at.uInk, ink);
    gl.uniformMatrix4fv(at.uView, false, view.out);
    gl.enable(gl.BLEND);
    gl.depthMask(false);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    gl.bindVertexArray(null);
  }
}

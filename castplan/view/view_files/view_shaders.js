// Shaders of the view: lit surfaces with hatched classes, and lines of even width.

const PLANES = `
uniform vec4 uPlane[2];
uniform int uPlanes;
bool isCutAway(vec3 p) {
  for (int k = 0; k < uPlanes; k += 1) if (dot(uPlane[k].xyz, p) > uPlane[k].w) return true;
  return false;
}`;

export const SOLID_VERTEX = `#version 300 es
in vec3 aPoint; in vec3 aNormal; in vec4 aLook;
uniform mat4 uView; uniform vec3 uShift;
out vec3 vPoint; out vec3 vNormal; flat out vec4 vLook;
void main() {
  vPoint = aPoint + uShift;
  vNormal = aNormal;
  vLook = aLook * 255.0;
  gl_Position = uView * vec4(vPoint, 1.0);
}`;

// aLook: class, share of the fill that runs over an edge onto it (of 255, 0 for none),
// level that cuts air off (of 255 of the film's height), 1 where air stays.
export const SOLID_FRAGMENT = `#version 300 es
precision highp float; precision highp int;
in vec3 vPoint; in vec3 vNormal; flat in vec4 vLook;
uniform int uMode;          // 0 one colour, 1 classes, 2 film, 3 flat cut
uniform vec3 uColours[8]; uniform int uHatches[8];
uniform vec3 uInk; uniform vec3 uLight; uniform vec3 uFill; uniform float uDot;
uniform vec3 uUp; uniform float uLow; uniform float uLevel; uniform float uSpan; uniform float uFilled; uniform int uCount;
out vec4 oColour;
${PLANES}
float inked(int hatch, vec2 p) {
  float slash = fract((p.x + p.y) / 9.0), back = fract((p.x - p.y) / 9.0);
  if (hatch == 1) return step(slash, 0.2);
  if (hatch == 2) return step(back, 0.2);
  if (hatch == 3) return max(step(slash, 0.17), step(back, 0.17));
  if (hatch == 4) return step(length(fract(p / 9.0) - 0.5), 0.17);
  if (hatch == 5) return step(fract((p.x + p.y) / 5.0), 0.3);
  if (hatch == 6) return step(fract(p.y / 7.0), 0.2);
  if (hatch == 7) return step(length(fract(p / 5.5) - 0.5), 0.24);
  if (hatch == 8) return step(fract((p.x - p.y) / 16.0), 0.1);
  return 0.0;
}
void main() {
  if (isCutAway(vPoint)) discard;
  int kind = 0;
  vec2 pixel = gl_FragCoord.xy / uDot;
  if (uMode == 1) kind = int(vLook.x + 0.5);
  if (uMode == 2) {
    float height = dot(uUp, vPoint) - uLow;
    bool isAir = vLook.w > 0.5 && uLevel >= vLook.z / 255.0 * uSpan;
    bool isSpill = vLook.y > 0.5;
    bool isWet = vLook.w < 0.5 && (isSpill ? uFilled >= vLook.y : height <= uLevel);
    kind = isAir ? 2 : isWet ? 0 : 1;
    // To close the resin at a level: 1 all that it has reached, 2 what ran over an edge.
    if (uCount == 1 && isSpill && !isWet || uCount == 2 && !(isWet && isSpill)) discard;
    if (kind == 1 && mod(floor(pixel.x / 2.0) + floor(pixel.y / 2.0), 2.0) > 0.5) discard;
  }
  vec3 base = uColours[kind];
  float ink = inked(uHatches[kind], pixel);
  vec3 colour = mix(base, uInk, 0.62 * ink);
  if (uMode != 3) {
    vec3 n = normalize(vNormal);
    if (!gl_FrontFacing) n = -n;
    float key = max(dot(n, uLight), 0.0), fill = max(dot(n, uFill), 0.0);
    colour *= 0.5 + 0.5 * key + 0.16 * fill;
  }
  oColour = vec4(min(colour, 1.0), 1.0);
}`;

// One quad a segment; the corner numbers come from gl_VertexID.
export const LINE_VERTEX = `#version 300 es
in vec3 aFrom; in vec3 aTo;
uniform mat4 uView; uniform vec3 uShift; uniform vec2 uSize; uniform float uWide; uniform vec3 uEye; uniform float uLift;
out vec3 vPoint; out float vAlong;
void main() {
  vec4 a = uView * vec4(aFrom + uShift, 1.0), b = uView * vec4(aTo + uShift, 1.0);
  vec2 pa = a.xy / a.w * uSize * 0.5, pb = b.xy / b.w * uSize * 0.5;
  vec2 way = pb - pa;
  float size = max(length(way), 1e-4);
  way /= size;
  float end = float(gl_VertexID >> 1), side = float(gl_VertexID & 1) - 0.5;
  vec4 at = end > 0.5 ? b : a;
  vPoint = mix(aFrom, aTo, end) + uShift;
  vAlong = end * size;
  at.xy += vec2(-way.y, way.x) * side * uWide / uSize * 2.0 * at.w;
  // A little nearer to the eye than the surface that the line lies on.
  vec4 near = uView * vec4(vPoint + normalize(uEye - vPoint) * uLift, 1.0);
  at.z = near.z / near.w * at.w;
  gl_Position = at;
}`;

export const LINE_FRAGMENT = `#version 300 es
precision highp float; precision highp int;
in vec3 vPoint; in float vAlong;
uniform vec3 uInk; uniform float uDash;
out vec4 oColour;
${PLANES}
void main() {
  if (isCutAway(vPoint)) discard;
  if (uDash > 0.0 && fract(vAlong / uDash) > 0.6) discard;
  oColour = vec4(uInk, 1.0);
}`;

/** A program of two shaders, its inputs numbered in order: {made, at}, at the places of its uniforms. */
export function program(gl, vertex, fragment, inputs) {
  const made = gl.createProgram();
  [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]].forEach(([kind, text]) => {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  });
  inputs.forEach((name, k) => gl.bindAttribLocation(made, k, name));
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made) || 'no program');
  const at = {};
  for (let k = 0; k < gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS); k += 1) {
    const name = gl.getActiveUniform(made, k).name.replace('[0]', '');
    at[name] = gl.getUniformLocation(made, name);
  }
  return { made, at };
}

// Shaders of the view: lit surfaces with hatched classes, and lines of even width.

const PLANES = `
uniform vec4 uPlane[2];
uniform int uPlanes;
bool isCutAway(vec3 p) {
  for (int k = 0; k < uPlanes; k += 1) if (dot(uPlane[k].xyz, p) > uPlane[k].w) return true;
  return false;
}`;

export const SOLID_VERTEX = `#version 300 es
in vec3 aPoint; in vec4 aNormal; in vec4 aLook;
uniform mat4 uView; uniform vec3 uShift;
out vec3 vPoint; out vec4 vNormal; flat out vec4 vLook;
void main() {
  vPoint = aPoint + uShift;
  vNormal = aNormal;
  vLook = aLook;
  gl_Position = uView * vec4(vPoint, 1.0);
}`;

// aNormal: the normal, and how much light from all round comes to the place.
// aLook: class; basin that resin runs over an edge into, 0 for none; height over which air
// stays and level that cuts it off, both of 65534 of the film's height, 65535 past all.
export const SOLID_FRAGMENT = `#version 300 es
precision highp float; precision highp int;
in vec3 vPoint; in vec4 vNormal; flat in vec4 vLook;
uniform int uMode;          // 0 one colour, 1 classes, 2 film, 3 flat cut, 4 shadow on the bench
uniform vec3 uColours[8]; uniform int uHatches[8];
uniform vec3 uInk; uniform vec3 uLight; uniform vec3 uFill; uniform float uDot;
uniform vec3 uEye; uniform float uGhost; // 0 solid, 1 seen through
uniform vec3 uUp; uniform float uLow; uniform float uLevel; uniform float uSpan; uniform int uCount;
uniform float uBasins[65]; uniform float uSills[65];
uniform vec3 uAcross; uniform vec3 uAlong; uniform float uPitch; // of the cut's own hatch, mm
out vec4 oColour;
${PLANES}
const float NONE = 65534.5;
float line(float at, float share, float soft) {
  float off = abs(fract(at) - 0.5);
  return smoothstep(0.5 - 0.5 * share - soft, 0.5 - 0.5 * share + soft, off);
}
float inked(int hatch, vec2 p, float soft) {
  float slash = (p.x + p.y) / 9.0, back = (p.x - p.y) / 9.0, s = soft / 9.0;
  if (hatch == 1) return line(slash, 0.2, s);
  if (hatch == 2) return line(back, 0.2, s);
  if (hatch == 3) return max(line(slash, 0.17, s), line(back, 0.17, s));
  if (hatch == 4) return 1.0 - smoothstep(0.17 - s, 0.17 + s, length(fract(p / 9.0) - 0.5));
  if (hatch == 5) return line((p.x + p.y) / 5.0, 0.3, soft / 5.0);
  if (hatch == 6) return line(p.y / 7.0, 0.2, soft / 7.0);
  if (hatch == 7) return 1.0 - smoothstep(0.24 - s, 0.24 + s, length(fract(p / 5.5) - 0.5));
  if (hatch == 8) return line((p.x - p.y) / 16.0, 0.1, soft / 16.0);
  return 0.0;
}
void main() {
  if (isCutAway(vPoint)) discard;
  if (uMode == 4) { oColour = vec4(exp((uLow - dot(uUp, vPoint)) / uSpan)); return; }
  int kind = 0;
  if (uMode == 1) kind = int(vLook.x + 0.5);
  if (uMode == 2) {
    float height = dot(uUp, vPoint) - uLow;
    int basin = int(vLook.y + 0.5);
    bool isSpill = basin > 0 && height < uSills[basin];
    bool isWet = height <= (isSpill ? uBasins[basin] : uLevel);
    bool hasAir = vLook.z < NONE && height >= vLook.z / 65534.0 * uSpan;
    bool isAir = hasAir && uLevel >= vLook.w / 65534.0 * uSpan;
    kind = isAir ? 2 : isWet && !hasAir ? 0 : 1;
    // To close the resin at a level: 1 all that it has reached, 2 what ran over an edge.
    if (uCount == 1 && isSpill && !isWet || uCount == 2 && !(isWet && isSpill)) discard;
    // What is empty is seen through, when all that is not stands.
    if (uCount == 0 && (kind == 1) != (uGhost > 0.5)) discard;
  }
  bool isFlat = uMode == 3;
  vec2 spot = isFlat ? vec2(dot(uAcross, vPoint), dot(uAlong, vPoint)) / uPitch : gl_FragCoord.xy / uDot;
  float soft = isFlat ? 0.7 * length(fwidth(spot)) : 0.35 / uDot;
  vec3 base = uColours[kind];
  vec3 colour = mix(base, uInk, 0.62 * inked(uHatches[kind], spot, soft));
  float solid = 1.0;
  if (!isFlat) {
    vec3 n = normalize(vNormal.xyz);
    if (!gl_FrontFacing) n = -n;
    float key = max(dot(n, uLight), 0.0), fill = max(dot(n, uFill), 0.0), open = mix(uMode == 0 ? 0.5 : 0.75, 1.0, vNormal.w); // classes keep their colours
    colour *= (0.5 + 0.16 * fill) * open * open + 0.5 * key * open;
    float edge = 1.0 - abs(dot(n, normalize(uEye - vPoint)));
    solid = mix(1.0, 0.13 + 0.3 * edge * edge, uGhost);
  }
  oColour = vec4(min(colour, 1.0), solid);
}`;

export const SHADE_VERTEX = `#version 300 es
in vec3 aPoint; layout(location = 1) in vec2 aSpot;
uniform mat4 uView;
out vec2 vSpot;
void main() { vSpot = aSpot; gl_Position = uView * vec4(aPoint, 1.0); }`;

// Blurred by the smaller pictures of itself, near and far.
export const SHADE_FRAGMENT = `#version 300 es
precision highp float;
in vec2 vSpot;
uniform sampler2D uShade; uniform vec3 uInk;
out vec4 oColour;
void main() {
  if (length(vSpot) > 1.0) discard;
  float sum = 0.0;
  for (int k = 0; k < 4; k += 1) {
    vec2 off = 0.02 * vec2(float(2 * (k % 2) - 1), float(2 * (k / 2) - 1));
    sum += textureLod(uShade, 0.5 + 0.5 * vSpot + off, 3.0).r / 4.0;
  }
  float edge = 1.0 - smoothstep(0.7, 1.0, length(vSpot));
  oColour = vec4(uInk, 0.42 * sum * edge);
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
uniform vec3 uInk; uniform float uDash; uniform float uSolid;
out vec4 oColour;
${PLANES}
void main() {
  if (isCutAway(vPoint)) discard;
  if (uDash > 0.0 && fract(vAlong / uDash) > 0.6) discard;
  oColour = vec4(uInk, uSolid);
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
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made) || "no program");
  const at = {};
  for (let k = 0; k < gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS); k += 1) {
    const name = gl.getActiveUniform(made, k).name.replace("[0]", "");
    at[name] = gl.getUniformLocation(made, name);
  }
  return { made, at };
}

// SPDX-License-Identifier: GPL-3.0-or-later
// How lines look: the tones of the page, a texture of each material, and a rim of paper, so that a line
// behind another shows a gap. A tone is never alone.
import { BackSide, BufferAttribute, BufferGeometry, Color, ColorManagement, Mesh, ShaderMaterial } from 'three';

ColorManagement.enabled = false; // tones go to the screen as the sheet has them

const TEXTURES = { solid: 0, twill: 1, dash: 2 };
const OF_TONE = { braid: 'twill', fluorocarbon: 'dash' };

const vertexShader = `
uniform float swell;
varying vec3 facing;
varying vec2 place;
void main() {
  place = uv;
  facing = normalMatrix * normal;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position + normal * swell, 1.0);
}`;

const fragmentShader = `
uniform vec3 tone;
uniform vec3 paper;
uniform int kind;
varying vec3 facing;
varying vec2 place;
float band(float at, float share) {
  float width = max(fwidth(at), 1e-4);
  float from = fract(at);
  return clamp(from / width, 0.0, 1.0) * clamp((share - from) / width + 0.5, 0.0, 1.0);
}
void main() {
  vec3 normal = normalize(facing);
  float light = dot(normal, normalize(vec3(-0.35, 0.6, 0.72)));
  vec3 seen = tone;
  if (kind == 1) {
    float there = band(place.x * 0.5 + place.y, 0.3);
    float back = band(place.x * 0.5 - place.y, 0.3);
    seen = mix(tone, paper, 0.6 * max(there, back));
  }
  if (kind == 2) seen = mix(tone, paper, 0.75 * band(place.x / 4.0, 0.2));
  seen = mix(seen * 0.55, seen, smoothstep(-0.5, 0.6, light));
  seen = mix(seen, vec3(1.0), 0.22 * smoothstep(0.75, 1.0, light));
  gl_FragColor = vec4(seen, 1.0);
}`;

const rimShader = `
uniform vec3 paper;
void main() {
  gl_FragColor = vec4(paper, 1.0);
}`;

function geometry_of(mesh) {
  const geometry = new BufferGeometry();
  for (const [name, size] of [['position', 3], ['normal', 3], ['uv', 2]])
    geometry.setAttribute(name, new BufferAttribute(new Float32Array(mesh[name]), size));
  geometry.setIndex(new BufferAttribute(new Uint32Array(mesh.index), 1));
  return geometry;
}

// Tones of the page by name, read when they are first asked for; forget() has them read anew.
export class Tones {
  constructor(place) {
    this.place = place;
    this.known = new Map();
  }

  of(name) {
    if (!this.known.has(name)) this.known.set(name, new Color());
    return this.known.get(name);
  }

  read() {
    const style = getComputedStyle(this.place);
    for (const [name, tone] of this.known)
      tone.set(style.getPropertyValue(`--${name}`).trim() || style.color);
  }
}

// The two things that draw a line: itself and its rim.
export function drawn(mesh, line, tones, plain) {
  const kind = { value: plain ? 0 : TEXTURES[line.texture ?? OF_TONE[line.tone] ?? 'solid'] };
  const paper = { value: tones.of('paper') };
  const geometry = geometry_of(mesh);
  const uniforms = { tone: { value: tones.of(line.tone) }, paper, kind, swell: { value: 0 } };
  const rim = { paper, swell: { value: 0.17 * line.diameter } };
  return [
    new Mesh(geometry, new ShaderMaterial({ vertexShader, fragmentShader, uniforms })),
    new Mesh(geometry, new ShaderMaterial({ vertexShader, fragmentShader: rimShader, uniforms: rim, side: BackSide })),
  ];
}

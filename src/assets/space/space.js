// SPDX-License-Identifier: GPL-3.0-or-later
// A tie in space that can be turned, in an element of class space with data-tie, the address of its lines,
// and data-name. What stands in that element, of class still, is its picture: it is shown until the first
// frame is drawn, on paper, and wherever this does not run. A frame is drawn only when something changed.
import { Group, Matrix4, PerspectiveCamera, Quaternion, Scene, Vector3, WebGLRenderer } from 'three';
import { Tones, drawn } from './look.js';
import { arrow, ball_of, trimmed, tube } from './shape.js';

const EYE_deg = 24; // of the picture, upright
const STEP_rad = Math.PI / 24; // a press of a key
const DRAGGED_rad = Math.PI; // over the shorter side
const ROUND_s = 48; // turning by itself
const FRAME_ms = 33;
const DENSEST = 2; // pixels of the screen to one of the page
const NEARER = 1.2;
const [NEAREST, FARTHEST] = [0.35, 2.5];
const [RIGHT, UP] = [new Vector3(1, 0, 0), new Vector3(0, 1, 0)];

const MOVES = [
  { keys: ['ArrowLeft'], shown: '\u2190', says: 'Turn left', turn: [UP, -STEP_rad] },
  { keys: ['ArrowRight'], shown: '\u2192', says: 'Turn right', turn: [UP, STEP_rad] },
  { keys: ['ArrowUp'], shown: '\u2191', says: 'Tilt up', turn: [RIGHT, -STEP_rad] },
  { keys: ['ArrowDown'], shown: '\u2193', says: 'Tilt down', turn: [RIGHT, STEP_rad] },
  { keys: ['+', '='], shown: '+', says: 'Nearer', zoom: 1 / NEARER },
  { keys: ['-', '_'], shown: '\u2212', says: 'Farther', zoom: NEARER },
  { keys: ['Home'], shown: 'Home', says: 'Home', home: true },
];

function made(name, properties, ...inside) {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...inside);
  return element;
}

function note(place, words) {
  place.append(made('p', { className: 'note', textContent: words }));
}

// The scene: one group, turned about the middle of the knot.
class Space {
  scene = new Scene();
  turned = new Group();
  camera = new PerspectiveCamera(EYE_deg, 1, 0.1, 1000);
  letters = []; // { at, element }
  zoom = 1;

  constructor(tie, tones) {
    const ball = ball_of(tie.lines);
    this.radius = ball.radius;
    const inside = new Group();
    inside.position.set(...ball.middle).negate();
    for (const line of tie.lines) this.add(line, trimmed(line, ball), inside, tones);
    this.turned.add(inside);
    this.scene.add(this.turned);
    const { right, up, eye } = tie.view ?? { right: [1, 0, 0], up: [0, 1, 0], eye: [0, 0, 1] };
    const view = new Matrix4().set(...right, 0, ...up, 0, ...eye, 0, 0, 0, 0, 1);
    this.usual = new Quaternion().setFromRotationMatrix(view);
    this.middle = new Vector3(...ball.middle);
    this.home();
  }

  add(line, points, inside, tones) {
    inside.add(...drawn(tube(points, line.diameter, line.closed), line, tones));
    if (line.closed) return;
    [true, false].forEach((first, i) => {
      const head = arrow(points, first, line.diameter);
      if (line.loaded?.[i]) inside.add(drawn(head.mesh, { ...line, tone: 'ink' }, tones, true)[0]);
      const at = new Vector3(...(first ? points[0] : points.at(-1)));
      at.lerp(new Vector3(...head.tip), line.loaded?.[i] ? 1 : 0.5);
      this.letters.push({ at, element: made('span', { textContent: line.name }) });
    });
  }

  home() {
    this.turned.quaternion.copy(this.usual);
    this.zoom = 1;
  }

  turn(axis, angle) {
    this.turned.quaternion.premultiply(new Quaternion().setFromAxisAngle(axis, angle)).normalize();
  }

  look(aspect) {
    const half = (EYE_deg * Math.PI) / 360;
    const narrow = Math.min(1, aspect);
    this.camera.aspect = aspect;
    this.camera.position.z = ((this.radius * 0.95) / Math.sin(half) / narrow) * this.zoom;
    this.camera.near = this.camera.position.z / 50;
    this.camera.far = this.camera.position.z + 50 * this.radius;
    this.camera.updateProjectionMatrix();
  }

  place_letters(width, height) {
    const [w, h] = [width / 2, height / 2];
    for (const { at, element } of this.letters) {
      const seen = at.clone().sub(this.middle).applyQuaternion(this.turned.quaternion).project(this.camera);
      const bound = (value, room) => Math.min(Math.max(value, 12), room - 12);
      element.style.transform = `translate(${bound(w + seen.x * w, width).toFixed(1)}px, ${bound(h - seen.y * h, height).toFixed(1)}px) translate(-50%, -50%)`;
    }
  }
}

// What is seen of it, and what a reader does with it.
class Stage {
  moving = false; // turns by itself
  seen = true;
  asked = false;
  lost = false;
  last_ms = 0;

  constructor(place, tie, context, canvas) {
    this.place = place;
    this.canvas = canvas;
    this.tones = new Tones(place);
    this.space = new Space(tie, this.tones);
    this.tones.read();
    this.renderer = new WebGLRenderer({ canvas, context, antialias: true, alpha: true });
    this.renderer.setClearAlpha(0);
    this.build(place.dataset.name ?? 'The tie');
    this.listen();
    this.move_by_itself(!this.still.matches);
    this.ask();
  }

  build(name) {
    const letters = made('div', { className: 'letters', ariaHidden: 'true' }, ...this.space.letters.map((one) => one.element));
    const id = `turns-${(Stage.count = (Stage.count ?? 0) + 1)}`;
    this.stage = made('div', { className: 'stage', tabIndex: 0, role: 'application' }, this.canvas, letters);
    this.stage.setAttribute('aria-roledescription', 'turning view');
    this.stage.setAttribute('aria-label', `${name}, in space`);
    this.stage.setAttribute('aria-describedby', id);
    const buttons = MOVES.map((move) => {
      const button = made('button', { type: 'button', textContent: move.shown, ariaLabel: move.says });
      button.addEventListener('click', () => this.do(move));
      return button;
    });
    this.pause = made('button', { type: 'button' });
    this.pause.addEventListener('click', () => this.move_by_itself(!this.moving));
    const moves = made('div', { className: 'moves', role: 'group', ariaLabel: 'The view' }, ...buttons, this.pause);
    const told = made('p', {
      className: 'note',
      id,
      textContent: 'Drag it, or turn it with the arrow keys; + and - come nearer and go farther, Home puts it back.',
    });
    this.whole = made('div', { className: 'turning' }, this.stage, moves, told);
    this.whole.hidden = true;
    this.place.append(this.whole);
  }

  listen() {
    this.still = matchMedia('(prefers-reduced-motion: reduce)');
    this.still.addEventListener('change', () => this.still.matches && this.move_by_itself(false));
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
      this.tones.read();
      this.ask();
    });
    this.stage.addEventListener('keydown', (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const move = MOVES.find((one) => one.keys.includes(event.key));
      if (!move) return;
      event.preventDefault();
      this.do(move);
    });
    this.listen_to_drags();
    new ResizeObserver(() => this.ask()).observe(this.stage);
    window.addEventListener('resize', () => this.ask()); // another screen may be denser
    new IntersectionObserver(([entry]) => {
      this.seen = entry.isIntersecting;
      this.ask();
    }).observe(this.place);
    document.addEventListener('visibilitychange', () => this.ask());
    this.canvas.addEventListener('webglcontextlost', (event) => {
      event.preventDefault();
      this.show(false);
      this.lost = true;
    });
    this.canvas.addEventListener('webglcontextrestored', () => {
      this.lost = false;
      this.ask();
    });
  }

  // On a touch screen what goes up and down scrolls the page.
  listen_to_drags() {
    let from = null;
    this.stage.addEventListener('pointerdown', (event) => {
      if (event.button !== 0 || from) return;
      from = { id: event.pointerId, x: event.clientX, y: event.clientY };
      this.stage.setPointerCapture(event.pointerId);
    });
    this.stage.addEventListener('pointermove', (event) => {
      if (from?.id !== event.pointerId) return;
      const by = DRAGGED_rad / Math.min(this.stage.clientWidth, this.stage.clientHeight);
      this.move_by_itself(false);
      this.space.turn(UP, (event.clientX - from.x) * by);
      this.space.turn(RIGHT, (event.clientY - from.y) * by);
      [from.x, from.y] = [event.clientX, event.clientY];
      this.ask();
    });
    const end = (event) => {
      if (from?.id === event.pointerId) from = null;
    };
    for (const name of ['pointerup', 'pointercancel']) this.stage.addEventListener(name, end);
  }

  do(move) {
    this.move_by_itself(false);
    if (move.turn) this.space.turn(...move.turn);
    if (move.zoom) this.space.zoom = Math.min(Math.max(this.space.zoom * move.zoom, NEAREST), FARTHEST);
    if (move.home) this.space.home();
    this.ask();
  }

  move_by_itself(moving) {
    this.moving = moving;
    this.pause.textContent = moving ? 'Pause' : 'Turn slowly';
    if (moving) this.ask();
  }

  ask() {
    if (this.asked || this.lost || !this.seen || document.hidden) return;
    this.asked = true;
    requestAnimationFrame((now_ms) => this.frame(now_ms));
  }

  frame(now_ms) {
    this.asked = false;
    if (this.lost) return;
    const since_ms = now_ms - this.last_ms;
    if (this.moving && since_ms < FRAME_ms) {
      this.ask();
      return;
    }
    if (this.moving) this.space.turn(UP, (2 * Math.PI * Math.min(since_ms, 4 * FRAME_ms)) / (1000 * ROUND_s));
    this.last_ms = now_ms;
    this.show(true);
    this.draw();
    if (this.moving) this.ask();
  }

  draw() {
    const dense = Math.min(window.devicePixelRatio || 1, DENSEST);
    const [width, height] = [this.stage.clientWidth, this.stage.clientHeight];
    if (!width || !height) return;
    const [w, h] = [Math.round(width * dense), Math.round(height * dense)];
    if (this.canvas.width !== w || this.canvas.height !== h) this.renderer.setSize(w, h, false);
    this.space.look(width / height);
    this.renderer.render(this.space.scene, this.space.camera);
    this.space.place_letters(width, height);
  }

  // In place of the still picture, or away again.
  show(on) {
    this.whole.hidden = !on;
    this.place.classList.toggle('turns', on);
  }
}

export async function show(place) {
  const canvas = document.createElement('canvas');
  canvas.setAttribute('aria-hidden', 'true');
  const context = canvas.getContext('webgl2', { antialias: true, alpha: true, powerPreference: 'low-power' });
  if (!context) {
    note(place, 'This browser cannot draw in space: the picture stands still.');
    return;
  }
  try {
    const reply = await fetch(place.dataset.tie);
    if (!reply.ok) throw new Error(`status ${reply.status}`);
    new Stage(place, await reply.json(), context, canvas);
  } catch (error) {
    console.error(error);
    note(place, 'What turns in space could not be loaded: the picture stands still. Load the page again.');
  }
}

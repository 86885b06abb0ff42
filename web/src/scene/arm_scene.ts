/**
 * Arm, hand and club in space: the only file, with `strokes.ts`, that imports the 3-D library.
 *
 * What was measured is drawn firm: forearm, hand, club. What is a guess (the shoulder and the way to it, the butt line) is dashed.
 * Lines are seen without perspective, so that an angle on the picture is the angle.
 */
import { OrthographicCamera, Scene, WebGLRenderer, type MeshBasicMaterial, type Object3D } from 'three';
import type { Figure, Poses } from '../state/review/figure';
import { plus, rotate, type Vec } from '../state/review/vec';
import type { Inks } from '../state/theme.svelte';
import { Dashes, Pebble, rim, Stroke, tone } from './strokes';
import { axesOf, frameOf, type Direction } from './view';

export interface Posed {
  readonly figure: Figure;
  readonly poses: Poses;
}
export interface Shown {
  readonly now: Posed | null;
  /** The club as it would lie with another bend or roll. */
  readonly ghost: Posed | null;
  /** Another rep at the same point of its swing. */
  readonly other: Posed | null;
}

const FAR_M = 20;
const TONES = ['ink', 'soft', 'line', 'strong', 'accent', 'paper'] as const;
type Tone = (typeof TONES)[number];
type Tones = Readonly<Record<Tone, MeshBasicMaterial>>;

class Club {
  readonly parts: Object3D[];
  private readonly shaft: Stroke | Dashes;
  private readonly grip: Stroke;
  private readonly head: Pebble;
  private readonly butt: Dashes;
  private readonly spot: Pebble;

  constructor(fill: MeshBasicMaterial, line: MeshBasicMaterial, gap: MeshBasicMaterial, { dashed, thin }: { dashed: boolean; thin: boolean }) {
    const radius = thin ? 0.006 : 0.011;
    this.shaft = dashed ? new Dashes(radius, fill, 11) : new Stroke(radius, fill, { material: gap, byM: 0.012 });
    this.grip = new Stroke(1.7 * radius, fill, { material: gap, byM: 0.01 });
    this.head = new Pebble(thin ? [0.01, 0.02, 0.045] : [0.014, 0.026, 0.05], fill);
    this.butt = new Dashes(0.006, line, 15);
    this.spot = new Pebble([0.02, 0.02, 0.004], line);
    this.parts = [this.shaft, this.grip, this.head, this.butt, this.spot];
  }

  lay(posed: Posed | null): void {
    for (const part of this.parts) part.visible = posed !== null;
    if (!posed) return;
    const { figure, poses } = posed;
    this.shaft.lay(figure.butt, figure.head);
    this.grip.lay(figure.butt, plus(figure.butt, rotate(poses.club, [0, -1, 0]), 0.22));
    this.head.lay(plus(figure.head, rotate(poses.club, [0, 0, 1]), 0.045), poses.club);
    this.butt.visible = this.spot.visible = figure.onGround !== null;
    if (!figure.onGround) return;
    this.butt.lay(figure.butt, figure.onGround);
    this.spot.lay(figure.onGround);
  }
}

class Hand {
  readonly parts: Object3D[];
  private readonly palm: Pebble;
  private readonly thumb: Stroke;

  constructor(
    outline: MeshBasicMaterial,
    fill: MeshBasicMaterial,
    edge: MeshBasicMaterial,
    private readonly thumbSide: number
  ) {
    this.palm = new Pebble([0.022, 0.06, 0.043], fill, { material: outline, byM: 0.011 });
    this.thumb = new Stroke(0.011, edge);
    this.parts = [this.palm, this.thumb];
  }

  lay(posed: Posed | null): void {
    for (const part of this.parts) part.visible = posed !== null;
    if (!posed) return;
    const { figure, poses } = posed;
    const along = (v: Vec): Vec => rotate(poses.hand, v);
    this.palm.lay(plus(figure.wrist, along([0, -1, 0]), 0.05), poses.hand);
    const root = plus(plus(figure.wrist, along([0, -1, 0]), 0.025), along([0.01, 0, this.thumbSide * 0.038]));
    this.thumb.lay(root, plus(plus(root, along([0, -1, 0]), 0.05), along([0.012, 0, this.thumbSide * 0.012])));
  }
}

export class ArmScene {
  private readonly renderer: WebGLRenderer;
  private readonly camera = new OrthographicCamera();
  private readonly scene = new Scene();
  private readonly tones = Object.fromEntries(TONES.map((name) => [name, tone()])) as Tones;
  private readonly rims = Object.fromEntries(TONES.map((name) => [name, rim()])) as Tones;
  private readonly forearm: Stroke;
  private readonly upperArm: Dashes;
  private readonly hub: Pebble;
  private readonly hand: Hand;
  private readonly club: Club;
  private readonly ghostHand: Hand;
  private readonly ghostClub: Club;
  private readonly otherArm: Stroke;
  private readonly otherClub: Club;
  private size = { width: 1, height: 1 };

  /** Throws where there is no WebGL. */
  constructor(canvas: HTMLCanvasElement, leftLead: boolean) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, powerPreference: 'low-power' });
    const { tones, rims } = this;
    const thumbSide = leftLead ? -1 : 1;
    this.forearm = new Stroke(0.036, tones.paper, { material: rims.soft, byM: 0.011 });
    this.upperArm = new Dashes(0.008, tones.strong, 7);
    this.hub = new Pebble([0.03, 0.03, 0.03], tones.paper, { material: rims.strong, byM: 0.01 });
    this.hand = new Hand(rims.soft, tones.paper, tones.soft, thumbSide);
    this.club = new Club(tones.ink, tones.strong, rims.paper, { dashed: false, thin: false });
    this.ghostHand = new Hand(rims.accent, tones.paper, tones.accent, thumbSide);
    this.ghostClub = new Club(tones.accent, tones.accent, rims.paper, { dashed: true, thin: false });
    this.otherArm = new Stroke(0.007, tones.strong);
    this.otherClub = new Club(tones.strong, tones.line, rims.paper, { dashed: false, thin: true });
    const ground = [new Stroke(0.007, tones.strong), new Stroke(0.007, tones.strong)] as const;
    ground[0].lay([-0.9, 0, 0], [0.9, 0, 0]);
    ground[1].lay([0, -0.95, 0], [0, 0.25, 0]);
    const ball = new Pebble([0.024, 0.024, 0.024], tones.paper, { material: rims.strong, byM: 0.01 });
    ball.lay([0, 0.03, 0.024]);
    for (const one of [this.hand, this.club, this.ghostHand, this.ghostClub, this.otherClub]) this.scene.add(...one.parts);
    this.scene.add(this.forearm, this.upperArm, this.hub, this.otherArm, ...ground, ball);
  }

  paint(inks: Inks): void {
    const of: Record<Tone, string> = { ink: inks.ink, soft: inks.soft, line: inks.line, strong: inks.lineStrong, accent: inks.accent, paper: inks.paper };
    for (const name of TONES) for (const set of [this.tones, this.rims]) set[name].color.set(of[name]);
    this.renderer.setClearColor(inks.paper);
  }

  resize(width: number, height: number): void {
    const ratio = Math.min(devicePixelRatio, 2);
    if (width === this.size.width && height === this.size.height && ratio === this.renderer.getPixelRatio()) return;
    this.size = { width, height };
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(width, height, false);
  }

  /** `within` are the points that the picture must hold, so that it stands still while the club moves. */
  look(direction: Direction, within: readonly Vec[]): void {
    const { toEye, up } = axesOf(direction);
    const { centre, halfWidthM, halfHeightM } = frameOf(within, direction, this.size.width / this.size.height);
    const { camera } = this;
    camera.left = -halfWidthM;
    camera.right = halfWidthM;
    camera.top = halfHeightM;
    camera.bottom = -halfHeightM;
    camera.far = 2 * FAR_M;
    camera.position.set(...plus(centre, toEye, FAR_M));
    camera.up.set(...up);
    camera.lookAt(...centre);
    camera.updateProjectionMatrix();
  }

  show({ now, ghost, other }: Shown): void {
    for (const part of [this.forearm, this.upperArm, this.hub]) part.visible = now !== null;
    if (now) {
      this.forearm.lay(now.figure.elbow, now.figure.wrist);
      this.upperArm.lay(now.figure.hub, now.figure.elbow);
      this.hub.lay(now.figure.hub);
    }
    this.hand.lay(now);
    this.club.lay(now);
    this.ghostHand.lay(ghost);
    this.ghostClub.lay(ghost);
    this.otherArm.visible = other !== null;
    if (other) this.otherArm.lay(other.figure.elbow, other.figure.wrist);
    this.otherClub.lay(other);
    this.renderer.render(this.scene, this.camera);
  }

  dispose(): void {
    this.renderer.dispose();
    for (const name of TONES) for (const set of [this.tones, this.rims]) set[name].dispose();
  }
}


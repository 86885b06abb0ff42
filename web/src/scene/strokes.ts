/** Ink strokes in space: lines with round ends and flat rounded bodies, in one flat tone each, with an outline or a gap round them. */
import { BackSide, CylinderGeometry, Group, Mesh, MeshBasicMaterial, Quaternion, SphereGeometry, Vector3 } from 'three';
import type { Quat, Vec } from '../state/review/vec';

const TUBE = new CylinderGeometry(1, 1, 1, 20, 1, true);
const BALL = new SphereGeometry(1, 20, 14);
const UP = new Vector3(0, 1, 0);

export function tone(): MeshBasicMaterial {
  return new MeshBasicMaterial();
}
/** What is seen of it is the rim that stands out behind a smaller body. */
export function rim(): MeshBasicMaterial {
  return new MeshBasicMaterial({ side: BackSide });
}

/** A line of one thickness. */
export class Stroke extends Group {
  private readonly parts: { tube: Mesh; ends: readonly [Mesh, Mesh]; radius: number }[] = [];

  constructor(radiusM: number, material: MeshBasicMaterial, around?: { material: MeshBasicMaterial; byM: number }) {
    super();
    this.part(radiusM, material);
    if (around) this.part(radiusM + around.byM, around.material);
  }

  private part(radius: number, material: MeshBasicMaterial): void {
    const tube = new Mesh(TUBE, material);
    const ends: [Mesh, Mesh] = [new Mesh(BALL, material), new Mesh(BALL, material)];
    for (const end of ends) end.scale.setScalar(radius);
    this.add(tube, ...ends);
    this.parts.push({ tube, ends, radius });
  }

  lay(from: Vec, to: Vec): void {
    const [a, b] = [new Vector3(...from), new Vector3(...to)];
    const along = b.clone().sub(a);
    const length = Math.max(along.length(), 1e-6);
    for (const { tube, ends, radius } of this.parts) {
      tube.position.copy(a).add(b).multiplyScalar(0.5);
      tube.quaternion.setFromUnitVectors(UP, along.clone().divideScalar(length));
      tube.scale.set(radius, length, radius);
      ends[0].position.copy(a);
      ends[1].position.copy(b);
    }
  }
}

/** A line of dashes. */
export class Dashes extends Group {
  private readonly dashes: readonly Stroke[];

  constructor(radiusM: number, material: MeshBasicMaterial, n: number) {
    super();
    this.dashes = Array.from({ length: n }, () => new Stroke(radiusM, material));
    this.add(...this.dashes);
  }

  lay(from: Vec, to: Vec): void {
    const at = (share: number): Vec => [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1]), from[2] + share * (to[2] - from[2])];
    const n = this.dashes.length;
    this.dashes.forEach((dash, i) => dash.lay(at(i / (n - 0.4)), at((i + 0.6) / (n - 0.4))));
  }
}

/** A flat rounded body: half its size along each of its own axes. */
export class Pebble extends Group {
  constructor(halfM: Vec, material: MeshBasicMaterial, around?: { material: MeshBasicMaterial; byM: number }) {
    super();
    const body = new Mesh(BALL, material);
    body.scale.set(...halfM);
    this.add(body);
    if (!around) return;
    const outer = new Mesh(BALL, around.material);
    outer.scale.set(halfM[0] + around.byM, halfM[1] + around.byM, halfM[2] + around.byM);
    this.add(outer);
  }

  lay(at: Vec, q: Quat = [1, 0, 0, 0]): void {
    this.position.set(...at);
    this.quaternion.copy(new Quaternion(q[1], q[2], q[3], q[0]));
  }
}

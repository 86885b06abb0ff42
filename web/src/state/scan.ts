/** What stands in a picture of black squares (QR, ISO/IEC 18004) on a photo: read here, never sent. */

/** Larger would take the time of seconds on a phone and show no square better. */
const LONGEST_PX = [1600, 800, 2400] as const;
const EACH_MS = 900;

type Detector = new (options: { formats: string[] }) => { detect: (image: ImageBitmap) => Promise<readonly { rawValue: string }[]> };

export type Scanned = { readonly text: string } | { readonly failed: 'unreadable' | 'nothing' };

export async function textInPicture(file: Blob): Promise<Scanned> {
  let image: ImageBitmap;
  try {
    image = await createImageBitmap(file);
  } catch {
    return { failed: 'unreadable' };
  }
  try {
    const text = (await byBrowser(image)) ?? (await byLibrary(image));
    return text === null ? { failed: 'nothing' } : { text };
  } finally {
    image.close();
  }
}

/** The browser's own reader, where there is one. */
async function byBrowser(image: ImageBitmap): Promise<string | null> {
  const detector = (globalThis as { BarcodeDetector?: Detector }).BarcodeDetector;
  if (!detector) return null;
  try {
    const [found] = await new detector({ formats: ['qr_code'] }).detect(image);
    return found?.rawValue ?? null;
  } catch {
    return null; // there is one, and it does not work on this device
  }
}

async function byLibrary(image: ImageBitmap): Promise<string | null> {
  const { default: decodeQR } = await import('qr/decode.js');
  for (const longest of LONGEST_PX) {
    const scale = Math.min(1, longest / Math.max(image.width, image.height));
    const [width, height] = [Math.max(1, Math.round(image.width * scale)), Math.max(1, Math.round(image.height * scale))];
    const pen = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
    if (!pen) return null;
    pen.imageSmoothingQuality = 'high';
    pen.fillStyle = '#fff'; // what is transparent is paper
    pen.fillRect(0, 0, width, height);
    pen.drawImage(image, 0, 0, width, height);
    try {
      return decodeQR(pen.getImageData(0, 0, width, height), { effort: Infinity, timeLimit: EACH_MS });
    } catch {
      continue; // nothing found at this size
    }
  }
  return null;
}

/** Whether a text could be a drill's: what else there is on pictures is not even asked about. */
export function kindOf(text: string): 'drill' | 'link' | 'foreign' {
  if (/^\s*https?:\/\/\S+\/join\/[\w-]+\/?\s*$/.test(text)) return 'link';
  return /^name\s*=/m.test(text) && /^quantity\s*=/m.test(text) ? 'drill' : 'foreign';
}

/**
 * Which note an error sounds. The two sides of the band have registers of their own that never meet, so that the ear
 * tells them apart without looking, and the note bends further away the larger the error.
 */

/** Below the band (for bend: cupped too far) starts here and falls. */
export const BELOW_HZ = 330;
/** Above the band (bowed too far) starts here and rises. */
export const ABOVE_HZ = 660;
/** An error this large has bent the note by an octave, and bends it no further. */
export const OCTAVE_DEG = 24;

export function cueHz(errorDeg: number): number {
  const octaves = Math.min(Math.abs(errorDeg), OCTAVE_DEG) / OCTAVE_DEG;
  return errorDeg < 0 ? BELOW_HZ * 2 ** -octaves : ABOVE_HZ * 2 ** octaves;
}

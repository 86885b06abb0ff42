/** A drill that a coach gives as a picture to scan. */
export const SCAN_TITLE = 'A drill from your coach';
export const SCAN_HOW = 'Photograph the picture of black squares that your coach shows, or choose one that was sent to you.';
export const SCAN_PHOTO = 'Take a photo';
export const SCAN_CHOOSE = 'Choose a picture';
export const SCAN_READING = 'Reading the picture';
export const SCAN_TAKE = 'Practise this';
export const SCAN_LEAVE = 'Leave it';
export const SCAN_UNREADABLE = 'This file is no picture that can be shown here. Take a photo of your coach’s screen, or a screenshot.';
export const SCAN_NOTHING = 'No such square was found, or not all of it. Hold the phone straight above it, near enough that it nearly fills the picture, and keep it still.';
export const SCAN_FOREIGN = 'That is a square of somebody else’s, and no drill. Nothing was opened. Photograph the one that your coach’s page shows beside the drill.';
export const SCAN_LINK = 'That is a link to join a practice, and no drill. To join, open it with the phone’s own camera.';
export const SCAN_FAILED = 'The picture could not be read: part of this page did not load. Load it again.';
export function swingsWords(nReps: number): string {
  return nReps === 0 ? 'as many swings as you like' : `${nReps} swings`;
}
export function scanTaken(name: string): string {
  return `${name}: this is your drill now.`;
}

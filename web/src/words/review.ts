/** The words of the page on which recorded practices are looked at. */
export const REVIEW_TITLE = 'Practices';
export const REVIEW_NONE = 'There are no practices in the store yet. Take recordings in with: pitchbend review FOLDER';
export const REVIEW_LOADING = 'Fetching the practices.';
export const REVIEW_UNLOADED = 'This page could not be loaded. Check that Pitchbend is still running, then load it again.';
export function practiceWords(day: string, player: string, nReps: number): string {
  return `${day}, ${player || 'no name'}, ${nReps === 1 ? '1 rep' : `${nReps} reps`}`;
}

/** Words about a coach's answer to a practice. */
export const ANSWERS_TITLE = 'The coach’s answer';
export const ANSWER_NEW = 'Answer this practice';
export const ANSWER_HOW = 'Makes one file with the recording, its numbers, your notes, one priority and a drill. The student drops it on their own review page.';
export const ANSWER_BY = 'Who answers';
export const ANSWER_PRIORITY = 'The one thing to change';
export const ANSWER_DRILL = 'Drill to practise';
export const ANSWER_NO_DRILL = 'none';
export const ANSWER_NOTES = 'Notes that go along';
export const ANSWER_NO_NOTES = 'No notes on reps yet: write some beside a rep, and they can go along.';
export const ANSWER_MAKE = 'Make the file';
export const ANSWER_MAKING = 'Making the file';
export const ANSWER_MADE = 'The file is among your downloads: send it to the student.';
export const ANSWER_PRACTISE = 'To practise';
export const ANSWER_QR = 'The drill’s text, for a phone’s camera';
export const ANSWER_KEEP = 'Keep it among my drills';
export const ANSWER_KEPT = 'Kept: it can be chosen in every practice.';

export function answerLead(author: string, writtenUnixS: number): string {
  const day = new Date(writtenUnixS * 1000).toLocaleDateString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
  return `${author}, ${day}`;
}
export function noteToSendWords(rep: number, afterS: number | null, text: string): string {
  return `Rep ${rep}${afterS === null ? '' : `, ${afterS.toFixed(2)} s`}: ${text}`;
}

export const RECEIVE_TITLE = 'Open a recording';
export const RECEIVE_HOW = 'Drop a recording or a coach’s answer here, or';
export const RECEIVE_CHOOSE = 'choose a file';
export const RECEIVE_SENDING = 'Sending it to this computer';
export function receiveWords(done: number): string {
  return `Working it out: ${Math.round(done * 100)} %`;
}

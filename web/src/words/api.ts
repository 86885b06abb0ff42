/** What a page says when the service could not be asked. What the service itself refuses it says in words of its own. */
export const API_UNREACHABLE = 'Pitchbend on your computer does not answer. Check that it is still running, then try again.';
export const API_UNREADABLE = 'Something that is not Pitchbend answered. Load this page again.';

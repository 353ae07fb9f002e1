/** The code of what is kept in the words as spoken, whatever the emergency. */
export const NOTE_CODE = 'free-note';

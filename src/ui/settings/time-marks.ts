/** Seconds of a typed "4:00", "90" (seconds) or "0:30"; null for anything else. */
export function readMinutesSeconds(typed: string): number | null {
  const match = /^\s*(?:(\d{1,3}):([0-5]\d)|(\d{1,5}))\s*$/.exec(typed);
  if (match === null) return null;
  return match[3] === undefined ? Number(match[1]) * 60 + Number(match[2]) : Number(match[3]);
}

/** The newest mark that the running time has passed; null before the first and where none are shown. */
export function passedMark(
  timeMarks: { shown: boolean; marks: { afterSeconds: number; label: string }[] },
  sinceHeadSeconds: number | null,
): string | null {
  if (!timeMarks.shown || sinceHeadSeconds === null) return null;
  const passed = timeMarks.marks.filter(({ afterSeconds }) => afterSeconds <= sinceHeadSeconds);
  return passed.sort((a, b) => a.afterSeconds - b.afterSeconds).at(-1)?.label ?? null;
}

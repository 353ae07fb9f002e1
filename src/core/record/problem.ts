/** Why a file is refused, and where in it: a JSON pointer or a line. */
export interface Problem {
  place: string;
  why: string;
}

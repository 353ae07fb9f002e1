import data from './time-yardsticks.json' with { type: 'json' };

/** A published figure on how true recorded times are, with its source. Of other places and methods: never a mark. */
export interface TimeYardstick {
  id: string;
  study: string;
  finding: string;
  /** Where the figure is one time error, in seconds: to be drawn beside a drill's own. */
  errorSeconds?: number;
  /** Id of its source (sources.json). */
  reference: string;
}

export const TIME_YARDSTICKS: readonly TimeYardstick[] = data;

import { score, scoreText, type Score, type Trial } from './score.ts';

/** What a unit says about a recording of a drill: who called out, from how far, into what noise. */
export interface DrillPlace {
  role?: string;
  distanceM?: number;
  noise?: string;
}

export interface DrillGroup {
  by: 'all' | 'role' | 'distance' | 'noise';
  name: string;
  score: Score;
}

const UNSTATED = 'not stated';

/** Upper bounds of the groups of distance, m; the last has none. */
const DISTANCES_M = [0.5, 1, 2];

function distanceOf({ distanceM }: DrillPlace): string {
  if (distanceM === undefined) return UNSTATED;
  const below = DISTANCES_M.find((bound) => distanceM <= bound);
  return below === undefined ? `over ${DISTANCES_M.at(-1)} m` : `up to ${below} m`;
}

/**
 * Why a recording may not be measured, as a sentence; null where it may. Drills are measured only where the JSON file
 * says that everybody heard in it agreed.
 */
export function drillRefusal(
  name: string,
  told: { consent?: unknown } & Record<string, unknown>,
): string | null {
  if (told.consent !== true)
    return `${name} does not say that everybody heard in it agreed ("consent": true). Nothing was measured; add it, or take the recording out.`;
  const { distanceM } = told;
  if (distanceM !== undefined && !(typeof distanceM === 'number' && distanceM >= 0 && distanceM <= 20))
    return `${name}: "distanceM" is no distance in metres from 0 to 20. Nothing was measured.`;
  for (const key of ['role', 'noise'])
    if (told[key] !== undefined && typeof told[key] !== 'string')
      return `${name}: "${key}" is no text. Nothing was measured.`;
  return null;
}

/** The same trials all together, by speaker's role, by distance and by noise. */
export function drillGroups(trials: readonly (Trial & { place: DrillPlace })[]): DrillGroup[] {
  const by = (kind: DrillGroup['by'], nameOf: (place: DrillPlace) => string): DrillGroup[] => {
    const names = [...new Set(trials.map(({ place }) => nameOf(place)))].sort();
    return names.map((name) => ({
      by: kind,
      name,
      score: score(trials.filter(({ place }) => nameOf(place) === name)),
    }));
  };
  return [
    { by: 'all', name: 'all', score: score(trials) },
    ...by('role', ({ role }) => role ?? UNSTATED),
    ...by('distance', distanceOf),
    ...by('noise', ({ noise }) => noise ?? UNSTATED),
  ];
}

/** Groups as text, each under its heading. */
export const drillText = (groups: readonly DrillGroup[]): string =>
  groups
    .map(({ by, name, score: of }) => `${by === 'all' ? 'All drills' : `${by}: ${name}`}\n${scoreText(of)}`)
    .join('\n\n');

/** Figures that may leave the unit: counts and intervals, no sound, no names of files, no words. */
export function drillFigures(groups: readonly DrillGroup[]): object {
  return {
    format: 'utterlog-drill-figures',
    groups: groups.map(({ by, name, score: { confusion: _confusion, ...figures } }) => ({
      by,
      name,
      ...figures,
    })),
  };
}

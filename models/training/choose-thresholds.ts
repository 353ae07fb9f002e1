/**
 * Chooses the interpreter's thresholds from measured recordings:
 *
 *   npx tsx models/training/choose-thresholds.ts --model NAME --out models/reports/thresholds [--write] READINGS.jsonl…
 *
 * Target: wrong accepts at most 0.5 % of call-outs and at most 1 false entry an hour from talk and people; among the
 * settings that keep both, the one with most entries right and fewest lost (then fewest asked). READINGS come from read-sets.ts.
 * Writes OUT.json and OUT.svg (the curve); with --write src/core/interpret/decide/thresholds.json, too. A few minutes.
 * A setting is taken only where neither half of the clips (every second one) is worse by it and the gain is worth the
 * move: what helps one half alone, or hardly, is chance.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import thresholds from '../../src/core/interpret/decide/thresholds.json';
import { score } from '../../src/cli/score.ts';
import { readLines, trialOf, type ReadingLine } from './readings.ts';

const WRONG_AT_MOST = 0.005;
const FALSE_AN_HOUR_AT_MOST = 1;
/** Least gain for a move, as a share of the entries (see worth), mean of both halves. */
const LEAST_GAIN = 0.002;
/** The settings tried, in the order in which they are moved; the value in force takes part, too. */
const TRIED: Record<string, number[]> = {
  meanLogProbabilityAsk: [-0.2, -0.3, -0.4, -0.5, -0.6, -0.75, -0.9],
  meanLogProbabilityReject: [-0.7, -0.9, -1.05, -1.2],
  agreementCost: [0.2, 0.27, 0.34, 0.42, 0.5],
  unrelatedDistance: [0.45, 0.6, 0.75],
  farDistance: [0.4, 0.5, 0.65],
  standsUpDistance: [0.5, 0.65, 0.8, 0.9],
  'doubts.instead.near.untouchedNats': [-2, -1, 0, 0.5, 1],
  'doubts.instead.near.tunedNats': [0.5, 1, 1.5, 2, 3],
  'doubts.instead.strong.untouchedNats': [-1, 0, 0.5],
  'doubts.tradeWord.near.untouchedNats': [-9, -7, -5, -3],
  'doubts.tradeWord.near.tunedNats': [6, 8, 10],
  'doubts.dropped.near.untouchedNats': [-5, -4, -3, -2, -1, 0],
  'doubts.dropped.near.tunedNats': [0.5, 0.7, 1, 2, 3],
  'doubts.added.near.untouchedNats': [0, 0.5, 1, 1.5],
  'doubts.added.near.tunedNats': [0.7, 1, 1.2, 1.6, 2],
  nearestShare: [0.2, 0.3, 0.4],
  nearestMarginEdits: [0.3, 0.4, 0.6],
};

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { model: { type: 'string' }, out: { type: 'string' }, write: { type: 'boolean' } },
});
if (!values.out || !values.model) throw new Error('Name the model and the report: --model new --out models/reports/thresholds');

const lines = readLines(positionals).filter(({ model, expected }) => model === values.model && expected !== null);
type Node = { [name: string]: number | Node };
/** Where a setting lies: the object that holds it and its own name; "a.b.c" is c of b of a. */
function placeOf(root: Node, path: string): [Record<string, number>, string] {
  const names = path.split('.');
  const own = names.pop()!;
  return [names.reduce((node, name) => node[name] as Node, root) as Record<string, number>, own];
}
const settings = thresholds as unknown as Node;

interface Point {
  right: number;
  asked: number;
  wrong: number;
  missed: number;
  falseAnHour: number;
}

function measure(clips: readonly ReadingLine[]): Point {
  const result = score(clips.map((line) => trialOf(line, 'two readings')));
  const spoken = result.right.of || 1;
  const wrong = (result.wrong.count + result.surplus) / spoken;
  return {
    right: result.right.share,
    asked: result.asked.share,
    wrong,
    missed: result.missed.share,
    falseAnHour: result.falseEntries.hours > 0 ? result.falseEntries.perHour : 0,
  };
}

/** Larger is better: the targets first; then an entry right for one lost, which is the worst; then few questions. */
function worth({ right, asked, wrong, missed, falseAnHour }: Point): number {
  const over = Math.max(0, wrong - WRONG_AT_MOST) * 200 + Math.max(0, falseAnHour - FALSE_AN_HOUR_AT_MOST) / 10;
  return right - missed - asked / 100 - over;
}

const halves = [0, 1].map((rest) => lines.filter((_, k) => k % 2 === rest));
const measureHalves = (): Point[] => halves.map(measure);
const started = measureHalves();
let best = started;
for (const [path, tried] of Object.entries(TRIED)) {
  const [place, name] = placeOf(settings, path);
  for (const value of tried) {
    const kept = place[name]!;
    place[name] = value;
    const points = measureHalves();
    const worths = points.map((point, half) => worth(point) - worth(best[half]!));
    if (worths.every((gain) => gain >= 0) && worths[0]! + worths[1]! >= 2 * LEAST_GAIN) best = points;
    else place[name] = kept;
  }
}
const chosen = Object.fromEntries(
  Object.keys(TRIED).map((path) => {
    const [place, name] = placeOf(settings, path);
    return [path, place[name]!];
  }),
);
const all = measure(lines);

const curve = TRIED['meanLogProbabilityAsk']!.map((value) => {
  const kept = settings['meanLogProbabilityAsk']!;
  settings['meanLogProbabilityAsk'] = value;
  const point = { meanLogProbabilityAsk: value, ...measure(lines) };
  settings['meanLogProbabilityAsk'] = kept;
  return point;
});

/** Shares over the ask threshold as lines; a plain SVG with its numbers readable as text. */
function svg(): string {
  const [width, height, left, bottom] = [640, 360, 60, 50];
  const x = (value: number): number => left + ((value + 0.95) / 0.8) * (width - left - 130);
  const y = (part: number): number => height - bottom - part * (height - bottom - 30);
  const names: (keyof Point)[] = ['right', 'asked', 'missed', 'wrong'];
  const dashes = ['', '6 4', '2 3', '10 3 2 3'];
  const line = names.map((name, k) => {
    const points = curve.map((p) => `${x(p.meanLogProbabilityAsk).toFixed(1)},${y(p[name]).toFixed(1)}`);
    const last = curve[0]!;
    return `<polyline points="${points.join(' ')}" fill="none" stroke="#222" stroke-width="2" stroke-dasharray="${dashes[k]}"/><text x="${x(last.meanLogProbabilityAsk) + 8}" y="${y(last[name]) + 4}">${name} ${(100 * last[name]).toFixed(1)} %</text>`;
  });
  const ticks = curve.map(
    (p) => `<text x="${x(p.meanLogProbabilityAsk)}" y="${height - bottom + 18}" text-anchor="middle">${p.meanLogProbabilityAsk}</text>`,
  );
  const grid = [0, 0.25, 0.5, 0.75, 1].map(
    (part) => `<line x1="${left}" x2="${width - 130}" y1="${y(part)}" y2="${y(part)}" stroke="#ccc"/><text x="${left - 8}" y="${y(part) + 4}" text-anchor="end">${100 * part} %</text>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" font-family="sans-serif" font-size="12"><rect width="100%" height="100%" fill="#fff"/>${grid.join('')}${line.join('')}${ticks.join('')}<text x="${(left + width - 130) / 2}" y="${height - 10}" text-anchor="middle">mean log-probability below which an entry is asked about</text></svg>\n`;
}

const report = { model: values.model, clips: lines.length, target: { WRONG_AT_MOST, FALSE_AN_HOUR_AT_MOST }, beforeInHalves: started, chosen, chosenInHalves: best, all, curve };
writeFileSync(`${values.out}.json`, `${JSON.stringify(report, null, 1)}\n`);
writeFileSync(`${values.out}.svg`, svg());
process.stdout.write(`${JSON.stringify({ beforeInHalves: started, chosen, chosenInHalves: best, all }, null, 1)}\n`);
if (values.write) {
  const file = new URL('../../src/core/interpret/decide/thresholds.json', import.meta.url);
  const now = JSON.parse(readFileSync(file, 'utf8')) as Node & { source: string };
  now.source = `models/training/choose-thresholds.ts over ${lines.length} measured recordings; what it does not try was set by hand`;
  for (const [path, value] of Object.entries(chosen)) {
    const [place, name] = placeOf(now, path);
    place[name] = value;
  }
  writeFileSync(file, `${JSON.stringify(now, null, 2)}\n`);
}

import { describe, expect, it } from 'vitest';
import { drillFigures, drillGroups, drillRefusal, type DrillPlace } from '../../src/cli/drills.ts';
import type { Trial } from '../../src/cli/score.ts';

const trial = (name: string, right: boolean, place: DrillPlace): Trial & { place: DrillPlace } => ({
  name,
  audioMs: 2000,
  expected: [{ entry: { code: 'push' } }],
  accepted: right ? [{ entry: { code: 'push' } }] : [],
  asked: [],
  place,
});

describe('recordings of drills', () => {
  it('are not measured without the consent of everybody heard', () => {
    for (const told of [{}, { consent: false }, { consent: 'yes' }])
      expect(drillRefusal('a.json', told)).toMatch(/consent/);
    expect(drillRefusal('a.json', { consent: true })).toBeNull();
  });

  it('are refused where distance or role is nonsense', () => {
    expect(drillRefusal('a.json', { consent: true, distanceM: -1 })).toMatch(/metres/);
    expect(drillRefusal('a.json', { consent: true, distanceM: '1' })).toMatch(/metres/);
    expect(drillRefusal('a.json', { consent: true, role: 3 })).toMatch(/no text/);
    expect(drillRefusal('a.json', { consent: true, distanceM: 0.4, role: 'operator' })).toBeNull();
  });

  it('are counted by role, distance and noise, what is not stated apart', () => {
    const groups = drillGroups([
      trial('a', true, { role: 'operator', distanceM: 0.5, noise: 'quiet' }),
      trial('b', false, { role: 'operator', distanceM: 3 }),
      trial('c', true, { role: 'helper', distanceM: 0.6, noise: 'talk' }),
    ]);
    const of = (by: string, name: string) =>
      groups.find((group) => group.by === by && group.name === name)!.score.right;
    expect([of('all', 'all').count, of('all', 'all').of]).toEqual([2, 3]);
    expect([of('role', 'operator').count, of('role', 'operator').of]).toEqual([1, 2]);
    expect(groups.filter(({ by }) => by === 'distance').map(({ name }) => name)).toEqual([
      'over 2 m',
      'up to 0.5 m',
      'up to 1 m',
    ]);
    expect(of('noise', 'not stated').of).toBe(1);
  });

  it('give figures without words, sounds or names of files', () => {
    const groups = drillGroups([trial('secret-name', false, { role: 'operator' })]);
    const figures = JSON.stringify(drillFigures(groups));
    expect(figures).toContain('"missed":{"count":1');
    expect(figures).not.toContain('secret-name');
    expect(figures).not.toContain('push');
  });
});

import type { Drill } from '../core/practice/drill.ts';
import type { Scenario } from '../core/practice/scenario.ts';
import { deviceShelf } from './records.ts';
import { asShelfError, type Shelf, type StorageProblem } from './shelf.ts';

export type Saved = { kind: 'ok' } | { kind: 'failed'; why: StorageProblem };

/** What happened in drills, and a unit's own scenarios. No person's data: the call-outs are in the practice records. */
export function drillStore(shelf: Shelf) {
  const write = async (changes: Parameters<Shelf['write']>[0]): Promise<Saved> => {
    try {
      await shelf.write(changes);
      return { kind: 'ok' };
    } catch (error) {
      const { problem } = asShelfError(error);
      return { kind: 'failed', why: problem === 'taken' ? 'storage-failed' : problem };
    }
  };
  /** A reactive wrapper cannot be stored. */
  const plain = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;
  return {
    saveDrill: (drill: Drill) =>
      write([{ kind: 'put', key: ['drill', drill.recordId], value: plain(drill) }]),
    readDrill: (recordId: string) => shelf.get<Drill>(['drill', recordId]),
    listDrills: () => shelf.list<Drill>(['drill']),
    deleteDrill: (recordId: string) => write([{ kind: 'remove', key: ['drill', recordId] }]),
    saveScenario: (scenario: Scenario) =>
      write([{ kind: 'put', key: ['scenario', scenario.id], value: plain(scenario) }]),
    readScenario: (id: string) => shelf.get<Scenario>(['scenario', id]),
    listScenarios: () => shelf.list<Scenario>(['scenario']),
    deleteScenario: (id: string) => write([{ kind: 'remove', key: ['scenario', id] }]),
  };
}

export const drills = drillStore(deviceShelf);

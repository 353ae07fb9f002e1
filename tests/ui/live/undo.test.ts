import { expect, it } from 'vitest';
import { undoOf } from '../../../src/ui/live/undo.ts';
import { entry, viewOf } from './record.ts';

it('has nothing to take back in an empty record', () => expect(undoOf(viewOf([]))).toBeNull());

it('strikes out the newest entry, then puts it back', () => {
  const first = undoOf(viewOf([entry('e1', 'mcroberts'), entry('e2', 'push')]))!;
  expect(first).toMatchObject({ does: 'strike', bodies: [{ kind: 'strike', entryId: 'e2' }] });
  const second = undoOf(viewOf([entry('e1', 'mcroberts'), entry('e2', 'push'), ...first.bodies]))!;
  expect(second).toMatchObject({ does: 'restore', bodies: [{ kind: 'restore', entryId: 'e2' }] });
});

it('brings back the reading and the time that stood before', () => {
  const replaced = [
    entry('e1', 'mcroberts'),
    { kind: 'replace', entryId: 'e1', entry: { code: 'all-fours' } } as const,
  ];
  expect(undoOf(viewOf(replaced))).toMatchObject({
    does: 'change-back',
    bodies: [{ kind: 'replace', entryId: 'e1', entry: { code: 'mcroberts' } }],
  });
  const moved = [entry('e1', 'mcroberts'), { kind: 'shift', entryId: 'e1', atMs: 9000 } as const];
  expect(undoOf(viewOf(moved))).toMatchObject({
    does: 'move-back',
    bodies: [{ kind: 'shift', entryId: 'e1', atMs: 5000 }],
  });
});

import { describe, expect, it } from 'vitest';
import { shownNow } from '../../../src/core/dialogue/shown.ts';
import { undoOf } from '../../../src/core/dialogue/undo.ts';
import type { EventBody } from '../../../src/core/log/events.ts';
import { entry, viewOf } from '../../ui/live/record.ts';

const undo = (bodies: EventBody[]) => {
  const view = viewOf(bodies);
  return undoOf(shownNow(view, 0), view, () => 'new', 99_000);
};

describe('undo takes back what the strip shows', () => {
  it('which is nothing in an empty record', () => expect(undo([])).toBeNull());

  it('strikes out the newest entry, then puts it back', () => {
    const both = [entry('e1', 'mcroberts'), entry('e2', 'push')];
    const first = undo(both)!;
    expect(first).toMatchObject({ does: 'strike', bodies: [{ kind: 'strike', entryId: 'e2' }] });
    expect(undo([...both, ...first.bodies])).toMatchObject({
      does: 'restore',
      bodies: [{ kind: 'restore', entryId: 'e2' }],
    });
  });

  it('brings back the reading and the time that stood before', () => {
    const replaced: EventBody[] = [
      entry('e1', 'mcroberts'),
      { kind: 'replace', entryId: 'e1', entry: { code: 'all-fours' } },
    ];
    expect(undo(replaced)).toMatchObject({
      does: 'change-back',
      bodies: [{ kind: 'replace', entryId: 'e1', entry: { code: 'mcroberts' } }],
    });
    expect(undo([entry('e1', 'mcroberts'), { kind: 'shift', entryId: 'e1', atMs: 9000 }])).toMatchObject({
      does: 'move-back',
      bodies: [{ kind: 'shift', entryId: 'e1', atMs: 5000 }],
    });
  });

  it('takes a marked time off again', () => {
    const marked: EventBody = { kind: 'mark', markId: 'm', atMs: 1000 };
    const taken = undo([entry('e1', 'push'), marked])!;
    expect(taken).toMatchObject({ does: 'unmark', bodies: [{ kind: 'unmark', markId: 'm' }] });
    expect(viewOf([entry('e1', 'push'), marked, ...taken.bodies]).marks).toEqual([]);
  });

  it.each(['head-delivered', 'dystocia-declared', 'body-delivered'])('asks before %s goes', (code) => {
    const asked = undo([entry('e1', code)])!;
    expect(asked).toMatchObject({ does: 'strike', asks: true });
    expect(asked.bodies).toMatchObject([{ kind: 'question', strikes: ['e1'], entries: [{ code }] }]);
    const changed: EventBody[] = [entry('e1', 'push'), { kind: 'replace', entryId: 'e1', entry: { code } }];
    expect(undo(changed)!.bodies).toMatchObject([{ kind: 'question', replaces: 'e1' }]);
  });
});

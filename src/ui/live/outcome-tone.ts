import { tellsOf } from '../../core/dialogue/notice.ts';
import { questionAsked } from '../../core/dialogue/asked.ts';
import type { RecordView } from '../../core/log/view.ts';
import type { Event } from '../../core/log/folding.ts';
import type { Tone } from '../common/tones.ts';

/** The tone for what came to the log after event `seq`; null where nothing in it concerns the operator. */
export function toneAfter(view: RecordView, seq: number): Tone | null {
  let tone: Tone | null = null;
  for (const event of view.events) {
    if (event.seq <= seq) continue;
    switch (event.kind) {
      case 'entry':
      case 'confirm':
      case 'replace':
      case 'strike':
      case 'restore':
      case 'mark':
      case 'unmark':
        tone = 'logged';
        break;
      case 'question':
      case 'ask-again':
        tone = 'ask';
        break;
      case 'utterance':
        if (event.outcome === 'unrecognised' && isTold(view, event)) tone = 'unheard';
        break;
      default:
        break;
    }
  }
  return tone;
}

/** A tone for words only where a line tells of them: talk makes no sound. */
const isTold = (view: RecordView, { heard, endMs, onsetMs, madeAtMs }: Event<'utterance'>): boolean =>
  tellsOf({ heard, endMs }, madeAtMs, questionAsked(view, onsetMs) !== null);

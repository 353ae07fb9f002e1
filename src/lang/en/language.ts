import type { Language } from '../../core/vocabulary/pack.ts';
import commands from './commands.json';

export const ENGLISH = { id: 'en', commands } as unknown as Language;

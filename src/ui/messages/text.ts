import first from 'messages:first';
import type messages from './en.json';

type Leaf = string | { one: string; other: string };
type KeyOf<T> = { [K in keyof T & string]: T[K] extends Leaf ? K : `${K}.${KeyOf<T[K]>}` }[keyof T & string];

/** Every path to a message, e.g. `live.strip.logged`; a mistyped one fails the type check. */
export type TextKey = KeyOf<typeof messages>;
export type TextValues = Record<string, string | number>;

/** Sections of en.json that come with the screens that need them; what a live record needs is there at once. */
const LATER = {
  department: () => import('messages:department'),
  desk: () => import('messages:desk'),
  practice: () => import('messages:practice'),
  settings: () => import('messages:settings'),
  share: () => import('messages:share'),
  standby: () => import('messages:standby'),
};
export type LaterSection = keyof typeof LATER;

const here: Record<string, unknown> = { ...first };

/** Fetches the messages of a section, so that `text` finds them. @throws where they cannot be had. */
export async function loadTexts(section: LaterSection): Promise<void> {
  here[section] ??= (await LATER[section]()).default;
}

const plural = new Intl.PluralRules('en-GB');

/**
 * The message for a key, with `{name}` filled from `values`. A message with the forms `one` and
 * `other` is chosen by `values.count`.
 */
export function text(key: TextKey, values: TextValues = {}): string {
  let found: unknown = here;
  for (const part of key.split('.')) {
    found =
      typeof found === 'object' && found !== null ? (found as Record<string, unknown>)[part] : undefined;
  }
  if (typeof found === 'object' && found !== null) {
    found = (found as Record<string, unknown>)[plural.select(Number(values.count))];
  }
  if (typeof found !== 'string') return key;
  return found.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
}

/** The message for a key that is put together at run time from data, or `otherwise` where there is none. */
export function textFor(section: string, name: string, otherwise: string): string {
  const key = `${section}.${name}` as TextKey;
  const found = text(key);
  return found === key ? otherwise : found;
}

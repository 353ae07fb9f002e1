import type { Compiled } from '../sentence/compile.ts';
import type { Token } from '../words/normalise.ts';
import { matchesAt, NONE, type RoleReader } from '../words/trie.ts';

/** Reads roles at a place, several where they are joined ("the paediatrician and the anaesthetist"). */
export function roleReader(tokens: readonly Token[], compiled: Compiled): RoleReader {
  const one = (at: number) => {
    const matches = matchesAt(compiled.roles, tokens, at, NONE);
    return matches.reduce<(typeof matches)[number] | undefined>(
      (best, match) => (!best || match.to > best.to ? match : best),
      undefined,
    );
  };
  return (at) => {
    let found = one(at);
    if (!found) return undefined;
    const roles = [found.meaning];
    let { to } = found;
    for (;;) {
      let next = to;
      let joined = false;
      while (
        tokens[next] &&
        (tokens[next]!.word === 'and' ||
          tokens[next]!.word === 'the' ||
          tokens[next]!.word === 'also' ||
          tokens[next]!.word === 'a')
      ) {
        joined ||= tokens[next]!.word === 'and';
        next += 1;
      }
      found = joined || tokens[next]?.afterPause ? one(next) : undefined;
      if (!found) return { roles, to };
      roles.push(found.meaning);
      to = found.to;
    }
  };
}

#!/usr/bin/env python3
"""Chooses which rows of Whisper's token table the app keeps, and writes them to kept-tokens.json.

    python choose_tokens.py --tokenizer tokenizer.json --english FILE… --out kept-tokens.json \\
        --call-outs ../training/grammar.txt $(find ../../src/core/vocabulary ../../src/core/practice -name '*.json')

The table has 51,864 rows of 384; the decoders write English words, so most rows (other scripts, code, rare names)
are never needed. Kept:
- single bytes, so that anything can be spelled;
- every token that the call-outs use, as written, in lower case and with capitals (--call-outs: any text, JSON too);
- words and pieces of plain letters that are frequent in English (--english: any text; Debian's `fortunes` was used)
  or that come early among the merges;
- digits and the punctuation of speech.
Left out: brackets, notes and the like, which Whisper itself suppresses as non-speech tokens.
"""
import argparse
import json
import re
from collections import Counter
from pathlib import Path

from tokenizers import Tokenizer

# The last three rows, in this order: an id below `end` is always text.
SPECIAL = ['<|endoftext|>', '<|startoftranscript|>', '<|notimestamps|>']
# The merges are numbered by frequency, so a lower id is a commoner piece.
EARLY_MERGE = 7000
# In 1.1 million tokens of English.
FREQUENT_IN_ENGLISH = 12
WORD_PIECE = re.compile(r"Ġ?(?:[A-Za-z]+|'[a-z]{1,2})")
DIGITS = re.compile(r'Ġ?[0-9]{1,3}')
PUNCTUATION = {lead + sign for sign in [*",.?!'-:;%&/+\"", '...'] for lead in ('', 'Ġ')}
PUNCTUATION |= {'Ġ', '."', ',"', '?"', '!"', '--', 'Ċ'}


def forms(text):
    """One line as either decoder may write it: as it is, lower case, a capital on the first word, on each."""
    plain = ' '.join(text.split())
    lower = plain.lower()
    # Each word by itself, too: in a JSON file it may follow a quotation mark and not a space.
    words = set(re.findall("[a-z']+", lower))
    return {plain, lower, lower.capitalize(), lower.title()} | words | {word.capitalize() for word in words}


def count_tokens(tokenizer, files, forms_of):
    """How often each token id occurs in the lines of the files, with and without a space before the line."""
    count = Counter()
    for path in files:
        for line in Path(path).read_text(encoding='utf-8', errors='ignore').splitlines():
            for form in forms_of(line):
                for lead in ('', ' '):
                    count.update(tokenizer.encode(lead + form, add_special_tokens=False).ids)
    return count


def choose(tokenizer, call_outs, english):
    """-> token ids of Whisper's table: ascending, then the three special ones."""
    names = {token: id for token, id in tokenizer.get_vocab().items() if not token.startswith('<|')}
    speech = {id for name, id in names.items()
              if WORD_PIECE.fullmatch(name) or DIGITS.fullmatch(name) or name in PUNCTUATION}
    kept = {id for name, id in names.items() if len(name) == 1}
    kept |= {id for name, id in names.items() if id in speech and (id < EARLY_MERGE or not WORD_PIECE.fullmatch(name))}
    kept |= speech & set(count_tokens(tokenizer, call_outs, forms))
    common = count_tokens(tokenizer, english, lambda line: {' '.join(line.split()), ' '.join(line.lower().split())})
    kept |= {id for id in speech if common[id] >= 2 * FREQUENT_IN_ENGLISH}
    return sorted(kept) + [tokenizer.token_to_id(token) for token in SPECIAL]


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    parser.add_argument('--tokenizer', required=True)
    parser.add_argument('--call-outs', nargs='+', required=True)
    parser.add_argument('--english', nargs='+', required=True)
    parser.add_argument('--out', type=Path, required=True)
    args = parser.parse_args()
    kept = choose(Tokenizer.from_file(args.tokenizer), args.call_outs, args.english)
    args.out.write_text(json.dumps(kept) + '\n')
    print(f'{len(kept)} rows kept')


if __name__ == '__main__':
    main()

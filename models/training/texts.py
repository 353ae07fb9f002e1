#!/usr/bin/env python3
"""Texts to train on: call-outs, numbers, look-alikes, near misses, talk, trade words and general sentences.

    python texts.py --count 20 --seed 1                      # kind TAB text TAB what to speak
    python texts.py --kind contrast --count 20 --seed 1
    python texts.py --vocabulary ../../src/core/vocabulary   # the product's own phrases take part too

A text holds lower-case words (a-z, apostrophe, single spaces). Wordings in outside.txt are never made.
"""
import argparse
import json
import random
import re
from pathlib import Path

from numbers_said import MAKERS, lone_number

HERE = Path(__file__).parent
SHARES = {  # how often each kind is drawn; general speech keeps a call-out from being heard in everything
    "callout": .46, "number": .09, "contrast": .09, "near": .05, "talk": .06, "trade": .05, "mixed": .05,
    "general": .15}


def read_grammar(path):
    """grammar.txt -> {rule: ([wording], [weight])}."""
    rules, current = {}, None
    for line in path.read_text().splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        if re.fullmatch(r"[a-z0-9_]+:", line):
            current = rules.setdefault(line[:-1], ([], []))
            continue
        wording, _, weight = line.partition(" *")
        current[0].append(wording.rstrip("\n"))
        current[1].append(float(weight or 1))
    return rules


def choices(text):
    """The alternatives at the top level of "a|{b|c}|d"."""
    parts, depth, part = [], 0, ""
    for c in text:
        depth += (c == "{") - (c == "}")
        if c == "|" and depth == 0:
            parts.append(part)
            part = ""
        else:
            part += c
    return parts + [part]


def closing(text, start):
    """Place of the brace that closes the one at `start`."""
    depth = 0
    for k in range(start, len(text)):
        depth += (text[k] == "{") - (text[k] == "}")
        if depth == 0:
            return k
    raise ValueError(f"unclosed brace in {text!r}")


class Texts:
    """Draws (kind, text). `phrases`: more call-outs, as plain wordings; `sentences`: general sentences."""

    def __init__(self, phrases=(), sentences=(), forbidden=()):
        self.rules, self.phrases, self.sentences = read_grammar(HERE / "grammar.txt"), list(phrases), list(sentences)
        self.forbidden = set(forbidden)
        self.words = sorted({word for wordings, _ in self.rules.values() for line in wordings
                             for word in re.findall(r"[a-z]{2,}", re.sub(r"<[^>]*>", " ", line))})
        self.common = sorted({word for sentence in self.sentences for word in plain_words(sentence).split()
                              if 2 <= len(word) <= 9})

    def expand(self, text, rng):
        while "{" in text:
            start = text.index("{")
            end = closing(text, start)
            text = text[:start] + rng.choice(choices(text[start + 1:end])) + text[end + 1:]
        return re.sub(r"<([a-z0-9_]+)>", lambda m: self.rule(m[1], rng), text)

    def rule(self, name, rng):
        if name in MAKERS:
            return MAKERS[name](rng)
        wordings, weights = self.rules[name]
        return self.expand(rng.choices(wordings, weights)[0], rng)

    def mixed(self, rng):
        """Words in no order that a habit could foresee: the sound alone decides."""
        pools = [self.words, self.words, self.common or self.words]
        return " ".join(rng.choice(rng.choice(pools)) for _ in range(rng.choice([1, 1, 2, 2, 3, 3, 4, 5, 6])))

    def one(self, kind, rng):
        """(text to learn, text to speak)."""
        if kind == "general" and self.sentences:
            sentence = rng.choice(self.sentences)
            return plain_words(sentence), sentence
        if kind == "callout" and self.phrases and rng.random() < .5:
            text = self.expand(rng.choice(self.phrases), rng)
        else:
            text = {"callout": lambda: self.rule("callout", rng), "number": lambda: lone_number(rng),
                    "trade": lambda: self.rule("sentence_trade", rng), "mixed": lambda: self.mixed(rng),
                    "general": lambda: self.rule("talk", rng)}.get(kind, lambda: self.rule(kind, rng))()
        text = plain_words(text)
        return text, spoken(text)

    def draw(self, rng, kind=None):
        """(kind, text to learn, text to speak); never a forbidden wording, at most 22 words."""
        while True:
            chosen = kind or rng.choices(list(SHARES), list(SHARES.values()))[0]
            text, said = self.one(chosen, rng)
            if text and text not in self.forbidden and len(text.split()) <= 22:
                return chosen, text, said


def plain_words(text):
    """Any English sentence as lower-case words."""
    text = re.sub(r"[^a-z' ]+", " ", text.lower().replace("’", "'"))
    return re.sub(r"\s+", " ", text).replace(" '", "'").strip(" '")


SPELLED = {"p h": "P H", "p c o two": "P C O two", "c o two": "C O two", "e b l": "E B L", "m b l": "M B L", "m l": "M L",
           "k p a": "K P A", "m m h g": "M M H G", "s p p": "S P P", "spp": "S P P", "p p h": "P P H", "b e": "B E",
           "i m": "I M", "i v": "I V", "g t n": "G T N", "txa": "T X A", "c p r": "C P R", "s h o": "S H O",
           "i c u": "I C U", "p r": "P R", "f h": "F H", "b p": "B P", "o two": "O two", "mils": "mills",
           "mcroberts": "McRoberts", "occipito": "oxipito", "occiput": "oxiput", "zavanelli": "zavanelly"}


def spoken(text):
    """The same words written so that a synthesiser says them rightly."""
    text = re.sub(r"\b([lro]) o ([tap])\b", lambda m: f"{m[1].upper()} O {m[2].upper()}", f" {text} ")
    text = re.sub(r"\b(o) ([ap])\b", lambda m: f"O {m[2].upper()}", text)
    for written, said in SPELLED.items():
        text = re.sub(rf"(?<= ){written}(?= )", said, text)
    return text.strip()


def load_sentences(folder):
    """Plain sentences of 3 to 13 words from a folder of text files whose items are divided by a line "%"."""
    found = set()
    for file in Path(folder).iterdir():
        if file.is_dir() or file.suffix in (".dat", ".u8") or "art" in file.name:
            continue
        for item in file.read_text(errors="ignore").split("\n%\n"):
            for sentence in re.split(r"(?<=[.!?])\s+", item.replace("\n", " ")):
                sentence = sentence.strip()
                if re.fullmatch(r"[A-Za-z',.!?; -]{12,95}", sentence) and 3 <= len(sentence.split()) <= 13:
                    found.add(sentence)
    return sorted(found)


def load_outside(path=HERE / "outside.txt"):
    """Wordings of outside.txt (before the tab), which training must never see."""
    return [line.split("\t")[0] for line in path.read_text().splitlines()
            if line and not line.startswith("#")] if path.exists() else []


OTHER_SPELLINGS = {"supra pubic": "suprapubic", "medio lateral": "mediolateral", "anti clockwise": "anticlockwise"}


def load_phrases(folder):
    """Every wording of the product's vocabulary files: lists of strings under a key `say`, at any depth.

    Slots become makers of our own; wordings with figures, and second spellings of one sound, are left out.
    """
    found = set()

    def spell_out(line):
        """"(head|baby) out" -> "head out", "baby out"."""
        choice = re.search(r"\(([^()]*)\)", line)
        if not choice:
            return [" ".join(line.split())]
        return [one for part in choice[1].split("|")
                for one in spell_out(line[:choice.start()] + part + line[choice.end():])]

    def keep(wording):
        wording = re.sub(r"\{(role|side|drug|dose)\}", lambda m: f"<{SLOT_RULES[m[1]]}>", wording.lower())
        if re.search(r"[^a-z' <>_]|\bi+\b(?! (have|can|need|want|just))|\bspp\b", wording):
            return
        for other, ours in OTHER_SPELLINGS.items():
            wording = wording.replace(other, ours)
        found.add(wording)

    def walk(node):
        if isinstance(node, dict):
            for key, value in node.items():
                if key == "say" and isinstance(value, list):
                    for wording in value:
                        for one in spell_out(wording):
                            keep(one)
                else:
                    walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    for file in sorted(Path(folder).rglob("*.json")):
        walk(json.loads(file.read_text()))
    return sorted(found)


SLOT_RULES = {"role": "role", "side": "side", "drug": "drug_name", "dose": "dose"}


def make(args):
    return Texts(load_phrases(args.vocabulary) if args.vocabulary else (),
                 load_sentences(args.sentences) if args.sentences else (), load_outside())


def add_arguments(parser):
    parser.add_argument("--vocabulary", help="folder of the product's vocabulary files")
    parser.add_argument("--sentences", help="folder of general sentences (Debian's fortunes)")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    add_arguments(parser)
    parser.add_argument("--kind", choices=SHARES)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    texts, rng = make(args), random.Random(args.seed)
    for _ in range(args.count):
        print("\t".join(texts.draw(rng, args.kind)))


if __name__ == "__main__":
    main()

"""Training batches: speech placed in the 8 s window, hurried or shouted, through mask, room and microphone, with noise.

Every utterance draws its own kinds of noise (how many, which, how loud). All tensor work runs where the pool lies.
Speech on disk: NAME.raw (int16, 16 kHz, mono) beside NAME.jsonl, as speak.py and speak_fast.py write them.
"""
import json
import math
import random
import re
from pathlib import Path

import numpy as np
import torch

RATE = 16000
LONGEST = 6.8  # seconds; longer utterances are left out
WORDLESS = "wordless"  # speech without its words: held to its features, not to a text
KINDS = ("steady", "hum", "babble", "alarm", "cry", "suction", "clatter", "talker")


class Noise:
    """Makers of noise, each [n, samples] with standard deviation 1. `voices`: int16 speech to draw talk from."""

    def __init__(self, voices, samples):
        self.voices, self.samples, self.device = voices, samples, voices.device
        self.seconds = torch.arange(samples, device=self.device) / RATE
        self.frequency = torch.fft.rfftfreq(samples, 1 / RATE, device=self.device)

    def u(self, n, low=0.0, high=1.0):
        return torch.rand(n, 1, device=self.device) * (high - low) + low

    def white(self, n):
        return torch.randn(n, self.samples, device=self.device)

    def shaped(self, x, gain):
        return torch.fft.irfft(torch.fft.rfft(x) * gain, n=self.samples)

    def band(self, low, high, steep=2):
        """Gain of a band from low to high Hz, each [n, 1]."""
        f = self.frequency.clamp_min(1)
        return 1 / (1 + (low / f) ** (2 * steep)).sqrt() / (1 + (f / high) ** (2 * steep)).sqrt()

    def steady(self, n):
        """Air, rain, fans: a slope between white and brown with a random bump."""
        f, centre = self.frequency.clamp_min(20), self.u(n, 150, 5000)
        gain = (f / 200) ** (-self.u(n, 0, 2.4) / 2)
        return self.shaped(self.white(n), gain * (1 + self.u(n, 0, 4) * torch.exp(-((f / centre).log() ** 2) * 3)))

    def hum(self, n):
        base, out = self.u(n, 45, 130), 0
        for k in range(1, 13):
            out = out + self.u(n) / k ** self.u(n, .2, 1.5) * torch.sin(
                2 * math.pi * (base * k * self.seconds + self.u(n)))
        return out + .05 * self.white(n)

    def babble(self, n):
        """Two to eight talkers, each as loud as it comes; in a third of the draws five of them, all alike loud."""
        out, voices, dense = 0, torch.randint(2, 9, (n, 1), device=self.device), self.u(n) < .35
        for k in range(8):
            weight = torch.where(dense, float(k < 5), (voices > k) * self.u(n, .3, 1))
            out = out + weight * self.speech(n)
        return out

    def speech(self, n):
        at = torch.randint(0, max(1, len(self.voices) - self.samples), (n, 1), device=self.device)
        x = self.voices[at + torch.arange(self.samples, device=self.device)].float()
        return x / x.std(1, keepdim=True).clamp_min(1)

    def alarm(self, n):
        """Monitor and pump alarms: beeps in groups, sometimes two tones."""
        t, period = self.seconds, self.u(n, .18, 1.6)
        phase = ((t + self.u(n, 0, 2)) % period) / period
        grouped = ((t / period / 3 + self.u(n)) % 1 < self.u(n, .3, 1.3)).float()
        pitch = self.u(n, 350, 2600) * (1 + (self.u(n) < .4) * .25 * ((t / period) % 2 > 1))
        tone = sum(a * torch.sin(2 * math.pi * k * pitch * t) for k, a in ((1, 1), (2, self.u(n)), (3, self.u(n, 0, .6))))
        return tone * (phase < self.u(n, .15, .7)) * grouped

    def cry(self, n):
        """Infant cry: bursts of about a second, rich harmonics gliding between 350 and 600 Hz."""
        t, cycle = self.seconds, self.u(n, .8, 1.7)
        phase = ((t + self.u(n, 0, 2)) % cycle) / cycle
        envelope = torch.sin(math.pi * (phase / .72).clamp(max=1)).clamp_min(0) ** .6 * (phase < .72)
        pitch = self.u(n, 330, 560) * (1 + .25 * torch.sin(math.pi * phase) + .03 * torch.sin(2 * math.pi * 6 * t))
        turned = torch.cumsum(pitch, 1) / RATE
        centre = self.u(n, 900, 1600)
        out = 0
        for k in range(1, 10):
            out = out + torch.exp(-((k * pitch - centre) / 1100) ** 2) * torch.sin(2 * math.pi * k * turned)
        return (out + self.u(n, 0, .25) * self.white(n)) * envelope

    def suction(self, n):
        """Suction and oxygen: a band of rush, gurgling at some tens of hertz, on and off."""
        gurgle = self.shaped(self.white(n), (self.frequency < self.u(n, 8, 45)).float())
        gurgle = gurgle / gurgle.std(1, keepdim=True)
        rush = self.shaped(self.white(n), self.band(self.u(n, 300, 1500), self.u(n, 2500, 7500)))
        on = ((self.seconds / self.u(n, 1, 6) + self.u(n)) % 1 < self.u(n, .4, 1.4)).float()
        return rush * (1 + self.u(n, 0, .9) * gurgle).clamp_min(0) * on + .02 * self.white(n)

    def clatter(self, n):
        """Metal, doors, steps: short strikes that ring."""
        strikes = (torch.rand(n, self.samples, device=self.device) < self.u(n, 1, 7) / RATE).float()
        strikes = strikes * torch.randn_like(strikes).abs()
        ring = torch.sin(2 * math.pi * self.u(n, 200, 5000) * self.seconds) + .5 * self.white(n)
        ring = ring * torch.exp(-self.seconds * self.u(n, 8, 60))
        size = 2 * self.samples
        return torch.fft.irfft(torch.fft.rfft(strikes, n=size) * torch.fft.rfft(ring, n=size), n=size)[:, :self.samples]

    def talker(self, n):
        """One other person, quieter than the target (the level is bounded where it is mixed in)."""
        return self.speech(n)

    def mixture(self, chosen):
        """chosen [B, kinds] weights -> [B, samples], standard deviation 1 where anything was chosen."""
        out = torch.zeros(len(chosen), self.samples, device=self.device)
        for k, kind in enumerate(KINDS):
            rows = torch.where(chosen[:, k] > 0)[0]
            if len(rows):
                made = getattr(self, kind)(len(rows))
                out[rows] += chosen[rows, k:k + 1] * made / made.std(1, keepdim=True).clamp_min(1e-4)
        return out / out.std(1, keepdim=True).clamp_min(1e-4)


class SpeechPool:
    """Every usable utterance in one int16 tensor; `batch` makes noisy windows with their texts."""

    def __init__(self, folders, usable, device, window=8, seed=0, speeds=(.88, 1.15), snr=(-3, 30), kinds=None):
        """usable: text -> is it trained on; speeds: factors, heard as pace and pitch; snr: noise, dB; kinds: None is all.

        The noise of talk is drawn from all speech in the folders, of other kinds, too.
        """
        self.device, self.rng, self.samples = torch.device(device), random.Random(seed), int(window * RATE)
        self.speeds, self.snr = speeds, snr
        torch.manual_seed(seed)
        pieces, starts, lengths, self.texts, self.kinds, total = [], [], [], [], [], 0
        for index in sorted(f for folder in map(Path, folders) for f in folder.glob("*.jsonl")):
            wave = np.fromfile(index.with_suffix(".raw"), np.int16)
            for line in index.read_text().splitlines():
                try:
                    first, length, text, kind = json.loads(line)
                except ValueError:
                    continue  # the last line of a run that was stopped
                if kinds and kind not in kinds:
                    continue
                written = kind == WORDLESS or re.fullmatch("[a-z' ]+", text) and usable(text)
                if written and length <= LONGEST * RATE and first + length <= len(wave):
                    starts.append(total + first)
                    lengths.append(length)
                    self.texts.append(text)
                    self.kinds.append(kind)
            pieces.append(torch.from_numpy(wave))
            total += len(wave)
        if not lengths:
            raise SystemExit("no usable utterance in " + ", ".join(map(str, folders)))
        self.wave = torch.cat(pieces + [torch.zeros(self.samples + 2 * RATE, dtype=torch.int16)]).to(self.device)
        self.start, self.length = torch.tensor(starts), torch.tensor(lengths)
        self.wordless = torch.tensor([kind == WORDLESS for kind in self.kinds])
        self.by_length = torch.argsort(self.length)
        self.noise, self.rooms = Noise(self.wave[:total], self.samples), self._rooms(512)

    def __len__(self):
        return len(self.texts)

    def hours(self):
        return int(self.length.sum()) / RATE / 3600

    def _rooms(self, count):
        """Room responses [count, 0.6 s]: direct sound, a few early reflections, a tail that darkens as it decays."""
        n, rooms = int(.6 * RATE), []
        t = torch.arange(n) / RATE
        for _ in range(count):
            decay = self.rng.uniform(.1, .8)
            tail = sum(torch.fft.irfft(torch.fft.rfft(torch.randn(n)) * (torch.fft.rfftfreq(n, 1 / RATE) < top), n=n)
                       * torch.exp(-6.9 * t / (decay * share)) for top, share in ((8000, .5), (3000, .8), (1000, 1)))
            room = tail / tail.norm() * self.rng.uniform(.1, 1.4)
            room[:self.rng.randint(16, 200)] = 0
            for _ in range(self.rng.randint(0, 6)):
                room[self.rng.randint(16, 900)] += self.rng.uniform(-.6, .6)
            room[0] = 1
            rooms.append(room / room.norm())
        return torch.stack(rooms).to(self.device)

    def place(self, items, offset, length, speed, present):
        """Utterances read at `speed` from sample `offset` on, silence elsewhere -> [B, samples]."""
        def column(x):
            return x.to(self.device)[:, None]
        t = torch.arange(self.samples, device=self.device)[None]
        position = (t - column(offset)).float() * column(speed)
        inside = (position >= 0) & (t < column(offset + length)) & column(present)
        position = position.clamp(min=0)
        whole = position.long()
        at = (whole + column(self.start[items])).clamp(max=len(self.wave) - 2)
        wave = self.wave[at].float().lerp(self.wave[at + 1].float(), position - whole)
        return torch.where(inside, wave, torch.zeros((), device=self.device))

    def _voice(self, x):
        """A quarter are shouted: treble raised above 500 Hz, then driven into soft clipping."""
        n, u, f = len(x), self.noise.u, self.noise.frequency
        shouted = u(n) < .25
        lift = torch.where(shouted, (f / 500).clamp(1, 8) ** u(n, .2, 1), torch.ones_like(f)[None])
        y = self.noise.shaped(x, lift)
        y = y / y.abs().amax(1, keepdim=True).clamp_min(1e-4)
        drive = u(n, 1, 5)
        return torch.where(shouted & (u(n) < .6), torch.tanh(drive * y) / torch.tanh(drive), y)

    def _through(self, x):
        """Room in 60 %; mask or turned-away face (low-pass) in 40 %; small capsule (high-pass) in 60 %."""
        n, u, f = len(x), self.noise.u, self.noise.frequency
        room = self.rooms[torch.randint(0, len(self.rooms), (n,), device=self.device)]
        size = x.shape[1] + room.shape[1]
        wet = torch.fft.irfft(torch.fft.rfft(x, n=size) * torch.fft.rfft(room, n=size), n=size)[:, :x.shape[1]]
        x = torch.where(u(n) < .6, wet, x)
        low = 1 / (1 + (f / u(n, 1500, 6800)) ** (2 * u(n, 1, 3))).sqrt()
        high = (f / u(n, 20, 400)).clamp(max=1)
        tilt = (f.clamp_min(50) / 1000) ** u(n, -.4, .4)
        gain = torch.where(u(n) < .4, low, 1) * torch.where(u(n) < .6, high, 1) * torch.where(u(n) < .5, tilt, 1)
        return self.noise.shaped(x, gain)

    def _mixed_noise(self, n):
        """One to three kinds, drawn for each utterance apart. -> ([n, kinds] weights)."""
        odds = torch.tensor([.27, .06, .38, .10, .07, .09, .07, 0], device=self.device).expand(n, -1)
        picked = torch.multinomial(odds, 3)
        keep = torch.rand(n, 3, device=self.device) < torch.tensor([1, .45, .2], device=self.device)
        return torch.zeros(n, len(KINDS), device=self.device).scatter_(
            1, picked, keep * (.2 + .8 * torch.rand(n, 3, device=self.device)))

    @torch.no_grad()
    def batch(self, size):
        """(noisy audio [size, samples], texts, the same speech clean at a fixed level, kind of each or "").

        Utterances of similar length; 60 % change speed, 18 % are followed by a second, 3 % hold no speech (text "");
        speech without its words has text "" and kind WORDLESS; 86 % get noise, 8 % another talker 4 to 18 dB below;
        peaks from -30 dB to clipping.
        """
        near = min(len(self), max(size * 3, len(self) // 10))
        low = max(0, min(self.rng.randrange(len(self)) - near // 2, len(self) - near))
        first = self.by_length[low + torch.randint(0, near, (size,))]
        second = self.by_length[torch.randint(0, max(1, len(self) // 2), (size,))]
        silent = torch.rand(size) < .03
        two = (torch.rand(size) < .18) & (self.length[first] < 3 * RATE) & (self.length[second] < 2.4 * RATE) & ~silent
        two &= ~self.wordless[first] & ~self.wordless[second]
        slowest, fastest = self.speeds
        speed = torch.where(torch.rand(size) < .6, torch.rand(size) * (fastest - slowest) + slowest, torch.ones(size))
        lead, gap = torch.randint(0, 9000, (size,)), torch.randint(300, 9000, (size,))
        length1, length2 = (self.length[first] / speed).long(), (self.length[second] / speed).long()
        two &= lead + length1 + gap + length2 < self.samples - 3000
        x = (self.place(first, lead, length1, speed, ~silent)
             + self.place(second, lead + length1 + gap, length2, speed, two)) / 32768
        texts = ["" if silent[b] else
                 self.texts[first[b]] + (" " + self.texts[second[b]] if two[b] else "") for b in range(size)]
        kinds = ["" if silent[b] or two[b] else self.kinds[first[b]] for b in range(size)]
        clean = x / x.abs().amax(1, keepdim=True).clamp_min(1e-4) * .5

        u = self.noise.u
        x = self._through(self._voice(x))
        spoken = (x.abs() > 1e-3).sum(1, keepdim=True).clamp_min(RATE // 10)
        level = ((x ** 2).sum(1, keepdim=True) / spoken).clamp_min(1e-6).sqrt()
        weights = self._mixed_noise(size)
        weights[silent.to(self.device)] *= torch.tensor([1, 1, 0, 1, 1, 1, 1, 0], device=self.device)
        amount = level * 10 ** (-u(size, *self.snr) / 20) * (u(size) < .86)
        x = x + self.noise.mixture(weights) * amount
        other = torch.where((u(size) < .08) & ~silent.to(self.device)[:, None], 1.0, 0.0)
        alone = torch.zeros_like(weights)
        alone[:, KINDS.index("talker")] = other[:, 0]
        x = x + self.noise.mixture(alone) * level * 10 ** (-u(size, 4, 18) / 20)
        peak = 10 ** u(size, -1.5, .2)
        x = x / x.abs().amax(1, keepdim=True).clamp_min(1e-4) * peak
        return x.clamp(-1, 1), texts, clean, kinds

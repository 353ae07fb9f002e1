"""Numbers as people say them at a birth: words for whole numbers, decimals, digits, clock times, amounts.

Every function takes the random generator that decides between ways of saying, and returns lower-case words.
"""

ONES = ("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
        "fifteen sixteen seventeen eighteen nineteen").split()
TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()
ZEROS = ["zero", "oh", "nought"]


def whole(n, joined_by_and=True):
    """0..9999 in words: 1250 -> "one thousand two hundred and fifty"."""
    if n < 20:
        return ONES[n]
    if n < 100:
        return TENS[n // 10] + (f" {ONES[n % 10]}" if n % 10 else "")
    joint = " and " if joined_by_and else " "
    if n < 1000:
        return f"{ONES[n // 100]} hundred" + (joint + whole(n % 100) if n % 100 else "")
    rest = n % 1000
    between = joint if rest < 100 else " "
    return f"{whole(n // 1000)} thousand" + (between + whole(rest, joined_by_and) if rest else "")


def digit(rng):
    return rng.choice(ONES[1:10] + ZEROS)


def digits(rng, count):
    """Digits one by one in any sequence, repeats included; a repeat may be said "double"."""
    zero, said, last = rng.choice(ZEROS), [], None
    figures = []
    for _ in range(count):  # repeats more often than chance, since they are what a decoder drops
        last = last if last is not None and rng.random() < .25 else rng.randrange(10)
        figures.append(last)
    k = 0
    while k < len(figures):
        word = zero if figures[k] == 0 else ONES[figures[k]]
        if k + 1 < len(figures) and figures[k + 1] == figures[k] and rng.random() < .35:
            said.append(f"double {word}")
            k += 2
        else:
            said.append(word)
            k += 1
    return " ".join(said)


def decimal(x, places, rng):
    """7.18 -> "seven point one eight"; a leading nought may be "nought", "zero" or "oh"."""
    zero = rng.choice(ZEROS)
    before, after = f"{x:.{places}f}".split(".")
    first = whole(int(before)) if int(before) else zero
    return f"{first} point " + " ".join(zero if c == "0" else ONES[int(c)] for c in after)


def ph(rng):
    return decimal(rng.uniform(6.6, 7.6), 2, rng)


def two_digits(rng):
    """What follows "p h seven" when said as one number: "eighteen", "oh five", "two three"."""
    n = rng.randrange(100)
    if n < 10:
        return f"{rng.choice(ZEROS)} {ONES[n] if n else rng.choice(ZEROS)}"
    return whole(n) if rng.random() < .6 else f"{ONES[n // 10]} {ONES[n % 10] if n % 10 else rng.choice(ZEROS)}"


def grams(rng):
    n = rng.randrange(1500, 6200, rng.choice([1, 5, 5, 10, 50]))
    if rng.random() < .15:  # "thirty eight fifty"
        return f"{whole(n // 100)} {whole(n % 100) if n % 100 >= 10 else 'hundred'}"
    return whole(n, rng.random() < .75)


def mils(rng):
    return whole(rng.randrange(50, 4000, rng.choice([10, 50, 50, 100])), rng.random() < .8)


def litres(rng):
    return rng.choice([
        lambda: f"{decimal(rng.uniform(.3, 4), 1, rng)} litres",
        lambda: f"{rng.choice(['one', 'two', 'three'])} and a half litres",
        lambda: rng.choice(["one litre", "two litres", "half a litre", "a litre", "a litre and a half", "a litre two"]),
        lambda: f"one litre {whole(rng.randrange(100, 1000, 50))}"])()


def clock(rng):
    """"fourteen thirty two", "oh three oh five", "ten past two", "half past nine", "sixteen hundred"."""
    hour, minute = rng.randrange(24), rng.randrange(60)
    oh = rng.choice(["oh", "oh", "zero"])
    said_hour = f"{oh} {ONES[hour]}" if hour < 10 and rng.random() < .5 else whole(hour)
    dice = rng.random()
    if dice < .72:
        return f"{said_hour} " + (whole(minute) if minute >= 10 else
                                  "hundred" if minute == 0 else f"{oh} {ONES[minute]}")
    if dice < .8:
        return f"{whole(hour % 12 or 12)} o'clock"
    if dice < .86:
        return f"half past {whole(hour % 12 or 12)}"
    past = rng.choice(["past", "to"])
    return f"{rng.choice(['five', 'ten', 'twenty', 'quarter', 'twenty five', 'three minutes'])} {past} {whole(hour % 12 or 12)}"


def lone_number(rng):
    """A number alone, of any kind."""
    return rng.choice([
        lambda: digits(rng, rng.randint(1, 7)), lambda: digits(rng, rng.randint(2, 4)),
        lambda: whole(rng.randrange(10000), rng.random() < .7), lambda: whole(rng.randrange(200)),
        lambda: decimal(rng.uniform(0, 20), rng.randint(1, 3), rng), lambda: clock(rng),
        lambda: f"{rng.choice(['minus', 'plus', 'minus'])} {decimal(rng.uniform(0, 30), 1, rng)}",
        lambda: f"{rng.choice(['minus', 'plus'])} {whole(rng.randrange(41))}",
        lambda: f"{whole(rng.randrange(1, 100))} {whole(rng.randrange(1, 100))}",
        lambda: " ".join(rng.choice(ONES[:10]) for _ in range(rng.randint(1, 2)))])()


MAKERS = {  # what <name> in grammar.txt may call
    "d": digit, "ph": ph, "n2digits": two_digits, "grams": grams, "mils": mils, "litres": litres, "clock": clock,
    "n10": lambda r: whole(r.randrange(11)), "n12": lambda r: whole(r.randint(1, 12)),
    "n15": lambda r: whole(r.randint(1, 15)), "n20": lambda r: whole(r.randint(0, 25)),
    "n59": lambda r: whole(r.randint(1, 59)), "n99": lambda r: whole(r.randint(10, 99)),
    "n180": lambda r: whole(r.randint(50, 180)), "n999": lambda r: whole(r.randint(1, 999)),
    "hundreds": lambda r: f"{whole(r.randint(1, 9))} hundred",
    "secs": lambda r: whole(r.choice([5, 10, 15, 20, 25, 30, 40, 45, 50, 60, 90])),
    "dec20": lambda r: decimal(r.uniform(0, 24), 1, r),
    "kilo1": lambda r: decimal(r.uniform(1.8, 6), 1, r), "kilo2": lambda r: decimal(r.uniform(1.8, 6), 2, r),
    "kilo3": lambda r: decimal(r.uniform(1.8, 6), 3, r)}

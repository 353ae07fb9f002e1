#!/usr/bin/env python3
"""Draws a report (report.ts): entries right, asked, wrong and missed of every model and condition, as one SVG.

    python plot_report.py ../reports/speech.json ../reports/speech.svg
"""
import json
import sys
from pathlib import Path

import matplotlib
import matplotlib.pyplot as plt

matplotlib.use("svg")
matplotlib.rcParams["svg.fonttype"] = "none"
FATES = (("right", "#1b4f72", ""), ("asked", "#aed6f1", "//"), ("wrong", "#b03a2e", "xx"), ("missed", "#d5d8dc", ".."))


def main():
    report = json.loads(Path(sys.argv[1]).read_text())
    rows = [r for r in report["rows"] if r["entries"]["right"]["of"] and r["way"] != "exact words"]
    rows.sort(key=lambda r: (r["way"] != "two readings", r["condition"], r["model"]))
    figure, axis = plt.subplots(figsize=(9, .34 * len(rows) + 1.2))
    for k, row in enumerate(reversed(rows)):
        left = 0
        for fate, colour, hatch in FATES:
            part = 100 * row["entries"][fate]["share"]
            axis.barh(k, part, left=left, color=colour, hatch=hatch, edgecolor="white", linewidth=.4,
                      label=fate if k == 0 else None)
            if part > 5:
                axis.text(left + part / 2, k, f"{part:.0f}", ha="center", va="center", fontsize=7,
                          color="white" if fate in ("right", "wrong") else "black")
            left += part
    axis.set_yticks(range(len(rows)), [f"{r['condition']} · {r['model']} · {r['way']}" for r in reversed(rows)], fontsize=7)
    axis.set_xlim(0, 100)
    axis.set_xlabel("share of the entries spoken, %")
    axis.legend(ncols=4, loc="lower center", bbox_to_anchor=(.4, 1), frameon=False, fontsize=8)
    figure.tight_layout()
    figure.savefig(sys.argv[2])


if __name__ == "__main__":
    main()

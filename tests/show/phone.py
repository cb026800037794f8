"""The figures of the phone page: delay, load, attack, contrast, a whole job.

Run it from the repository's root: python tests/show/phone.py. SEED=N for other random
cases, QUICK=1 for a short run. The last line is JSON; exit 1 if a figure misses. What
needs a browser counts as missed where there is none.

Contrast: W3C, Web Content Accessibility Guidelines 2, success criterion 1.4.6.
Status codes: RFC 9110. Server-sent events: WHATWG HTML, section 9.2.
"""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

from tests.phone import browser  # noqa: E402
from tests.show.parts.phone import load as phone_load  # noqa: E402
from tests.show.parts.phone import page as phone_page  # noqa: E402

SEED = int(os.environ.get("SEED", "1"))
QUICK = os.environ.get("QUICK", "") not in ("", "0")
DELAYS, ROUNDS, BLOCK_S = (12, 2, 1.5) if QUICK else (200, 5, 5.0)
REQUESTS, ATTACKS, DEAF_S = (1008, 2, 3.0) if QUICK else (4200, 3, 24.0)
SCENE, SPEED, KILLS = ("warm-day", 20, 1) if QUICK else ("cold-start", 20, 3)
PHONES = 20
NO_GO_S, CONTRAST = 3.0, 7.0
JITTER_MS = 25.0
"""A tenth of a tick: the 95th percentile may reach it beside phones, or twice what it
is without them, whichever is more."""
MEMORY_KIB = 4096

Figures = dict[str, Any]
Misses = list[str]


def show_load() -> tuple[Figures, Misses]:
    """Ticks beside phones, then beside an attack."""
    with phone_load.live() as here:
        jitter = phone_load.beside_phones(
            here, rounds=ROUNDS, seconds=BLOCK_S, phones=PHONES
        )
        attack = phone_load.attacked(
            here, requests=REQUESTS, rounds=ATTACKS, seed=SEED, deaf_s=DEAF_S
        )
    figures, misses = jitter_figures(jitter)
    more, missed = attack_figures(attack, jitter)
    return figures | more, misses + missed


def jitter_figures(jitter: phone_load.Jitter) -> tuple[Figures, Misses]:
    """Print and judge the ticks beside phones."""
    print("The gate's ticks (every 250 ms), how far off, without and with phones")
    figures: Figures = {"phones": jitter.phones, "messages": jitter.messages}
    for name, percent in (("median", 50), ("p95", 95)):
        alone, beside = jitter.at(percent)
        ratio = beside / alone if alone else float("nan")
        print(f"   {name:8}{alone:8.2f} ms{beside:8.2f} ms   ratio {ratio:.2f}")
        figures |= {
            f"tick_{name}_alone_ms": alone,
            f"tick_{name}_phones_ms": beside,
            f"tick_{name}_ratio": ratio,
        }
    print(
        f"   {jitter.phones} phones, {jitter.messages} messages, "
        f"longest gap of one {jitter.longest_gap_s:.2f} s"
    )
    figures["phones_longest_gap_s"] = jitter.longest_gap_s
    misses = []
    alone, beside = jitter.at(95)
    if beside > max(JITTER_MS, 2 * alone):
        misses.append(f"phones slow the gate: {beside:.1f} ms against {alone:.1f} ms")
    if jitter.phones < PHONES:
        misses.append(f"only {jitter.phones} of {PHONES} phones were served")
    return figures, misses


def attack_figures(
    attack: phone_load.Attack, jitter: phone_load.Jitter
) -> tuple[Figures, Misses]:
    """Print and judge the attack."""
    p95 = float(np.percentile(attack.jitter, 95))
    # the first round fills caches and buckets
    growth = attack.memory_kib[-1] - attack.memory_kib[0]
    print(f"Hostile requests: {attack.sent} sent, {attack.accepted} accepted")
    kinds = sorted({k.rpartition(": ")[0] for k in attack.said})
    for kind in kinds:
        said = {
            k.rpartition(": ")[2]: n
            for k, n in sorted(attack.said.items())
            if k.startswith(f"{kind}: ")
        }
        print(f"   {kind:16}" + ", ".join(f"{s} ({n})" for s, n in said.items()))
    print(
        f"   slow and half-open: still held {attack.held}; phones that take nothing "
        f"dropped {attack.deaf_dropped} of {3 * ATTACKS} within {DEAF_S:.0f} s; "
        f"connections left {attack.open_after}\n   the honest phone's longest gap "
        f"{attack.watcher_gap_s:.2f} s; ticks off by {p95:.2f} ms (95 %)\n"
        f"   memory after each round, KiB: {attack.memory_kib}"
    )
    figures: Figures = {
        "hostile": attack.sent,
        "accepted": attack.accepted,
        "slow_still_held": attack.held,
        "deaf_dropped": attack.deaf_dropped,
        "honest_longest_gap_s": attack.watcher_gap_s,
        "tick_p95_attacked_ms": p95,
        "memory_growth_kib": growth,
    }
    misses = [] if attack.sent >= 1000 else [f"only {attack.sent} requests"]
    if attack.accepted or attack.held:
        misses.append(f"accepted {attack.accepted}, held {attack.held}")
    if not QUICK and attack.deaf_dropped < 3 * ATTACKS:
        misses.append(f"only {attack.deaf_dropped} deaf phones were dropped")
    if attack.watcher_gap_s >= 2.0:
        misses.append(f"the honest phone waited {attack.watcher_gap_s:.2f} s")
    if p95 > max(JITTER_MS, 2 * jitter.at(95)[0]):
        misses.append(f"the attack slows the gate: {p95:.1f} ms")
    if growth > MEMORY_KIB:
        misses.append(f"memory grew by {growth} KiB")
    return figures, misses


def show_page() -> tuple[Figures, Misses]:
    """Everything that needs a browser."""
    why = browser.missing()
    if why:
        print("The page:", why)
        return {"browser": None}, [f"not measured: {why}"]
    with browser.phone() as chrome:
        delays = phone_page.delays_ms(chrome, count=DELAYS, seed=SEED)
        contrasts = phone_page.all_contrasts(chrome)
        job = phone_page.whole_job(chrome, scene=SCENE, speed=SPEED)
        ends = phone_page.seconds_to_no_go(chrome, times=KILLS)
    worst = min(contrasts, key=lambda k: contrasts[k])
    figures: Figures = {
        "delay_median_ms": float(np.median(delays)),
        "delay_p95_ms": float(np.percentile(delays, 95)),
        "delays": len(delays),
        "texts": len(contrasts),
        "contrast_least": contrasts[worst],
        "job_phases": job.phases,
        "job_marks": job.marks,
        "killed_worst_s": max(ends["killed"]),
        "frozen_worst_s": max(ends["frozen"]),
    }
    print_page(figures, worst)
    return figures, page_misses(figures, job)


def print_page(figures: Figures, worst: str) -> None:
    """Print what the browser showed."""
    print(
        f"Snapshot to drawn page: median {figures['delay_median_ms']:.1f} ms, "
        f"95 % {figures['delay_p95_ms']:.1f} ms, of {figures['delays']}\n"
        f"Contrast of {figures['texts']} texts: least "
        f"{figures['contrast_least']:.2f}:1 ({worst})\n"
        f"A whole job by thumb: {', '.join(figures['job_phases'])}; "
        f"{figures['job_marks']} drips marked\n"
        f"NO-GO on the page at most {figures['killed_worst_s']:.2f} s after a kill, "
        f"{figures['frozen_worst_s']:.2f} s after a freeze"
    )


def page_misses(figures: Figures, job: phone_page.JobSeen) -> Misses:
    """Judge what the browser showed."""
    misses = []
    if figures["delays"] < 0.95 * DELAYS:
        misses.append(f"only {figures['delays']} of {DELAYS} messages were drawn")
    if figures["delay_p95_ms"] > 500:
        misses.append(f"delay {figures['delay_p95_ms']:.0f} ms")
    if figures["contrast_least"] < CONTRAST:
        misses.append(f"contrast {figures['contrast_least']:.2f}:1")
    if not job.judged or job.marks < 2:
        misses.append("the job by thumb did not come to its judgement")
    late = [k for k in ("killed", "frozen") if figures[f"{k}_worst_s"] > NO_GO_S]
    return misses + [f"{k}: NO-GO after {figures[f'{k}_worst_s']:.2f} s" for k in late]


def main() -> int:
    """Show everything; 1 if a figure misses."""
    start = time.monotonic()
    figures: Figures = {"show": "phone", "seed": SEED, "quick": int(QUICK)}
    misses: Misses = []
    for show in (show_load, show_page):
        found, missed = show()
        figures |= found
        misses += missed
    for miss in misses:
        print("MISS", miss)
    figures |= {"seconds": time.monotonic() - start, "misses": len(misses)}
    print(json.dumps({k: _round(v) for k, v in figures.items()}))
    return 1 if misses else 0


def _round(value: object) -> object:
    return round(value, 3) if isinstance(value, float) else value


if __name__ == "__main__":
    sys.exit(main())

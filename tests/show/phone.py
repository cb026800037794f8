"""The figures of the phone page: delay, load, attack, contrast, a whole job.

SEED=N for other random cases, QUICK=1 for a short run. What needs a browser counts as
missed where there is none.

Contrast: W3C, Web Content Accessibility Guidelines 2, success criterion 1.4.6.
Status codes: RFC 9110. Server-sent events: WHATWG HTML, section 9.2.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

from tests.phone import browser  # noqa: E402
from tests.show.parts.phone import load as phone_load  # noqa: E402
from tests.show.parts.phone import page as phone_page  # noqa: E402
from tests.show.parts.show_run import ShowRun  # noqa: E402

PHONES = 20
NO_GO_S, CONTRAST, DELAY_MS, GAP_S = 3.0, 7.0, 500.0, 2.0
JITTER_MS = 25.0
"""A tenth of a tick: the 95th percentile may reach it beside phones, or twice what it
is without them, whichever is more."""
MEMORY_KIB = 4096


def show_load(told: ShowRun) -> None:
    """Ticks beside phones, then beside an attack."""
    rounds, block_s = told.size((2, 1.5), (5, 5.0))
    requests, attacks, deaf_s = told.size((1008, 2, 3.0), (4200, 3, 24.0))
    with phone_load.live() as here:
        jitter = phone_load.beside_phones(
            here, rounds=rounds, seconds=block_s, phones=PHONES
        )
        attack = phone_load.attacked(
            here, requests=requests, rounds=attacks, seed=told.seed, deaf_s=deaf_s
        )
    print("The gate's ticks (every 250 ms), how far off, without and with phones")
    told.tell("phones", jitter.phones, least=PHONES)
    told.tell("messages", jitter.messages)
    most_ms = max(JITTER_MS, 2 * jitter.at(95)[0])
    for name, percent, most in (("median", 50, None), ("p95", 95, most_ms)):
        alone, beside = jitter.at(percent)
        told.tell(f"tick_{name}_alone_ms", alone)
        told.tell(f"tick_{name}_phones_ms", beside, most=most)
        told.tell(f"tick_{name}_ratio", beside / alone if alone else float("nan"))
    told.tell("phones_longest_gap_s", jitter.longest_gap_s)
    print("Hostile requests, and what was said to them")
    for kind in sorted({k.rpartition(": ")[0] for k in attack.said}):
        said = {
            k.rpartition(": ")[2]: n
            for k, n in sorted(attack.said.items())
            if k.startswith(f"{kind}: ")
        }
        print(f"   {kind:16}" + ", ".join(f"{s} ({n})" for s, n in said.items()))
    told.tell("hostile", attack.sent, least=1000)
    told.tell("accepted", attack.accepted, want=0)
    told.tell("slow_still_held", attack.held, want=0)
    # a short run is over before they must be dropped
    told.tell("deaf_dropped", attack.deaf_dropped, least=told.size(0, 3 * attacks))
    told.tell("connections_left", attack.open_after)
    told.tell("honest_longest_gap_s", attack.watcher_gap_s, most=GAP_S)
    attacked_ms = float(np.percentile(attack.jitter, 95))
    told.tell("tick_p95_attacked_ms", attacked_ms, most=most_ms)
    # the first round fills caches and buckets
    growth = attack.memory_kib[-1] - attack.memory_kib[0]
    told.tell("memory_growth_kib", growth, most=MEMORY_KIB)


def show_page(told: ShowRun) -> None:
    """Everything that needs a browser."""
    why = browser.missing()
    if why:
        told.misses.append(f"the page was not measured: {why}")
        return
    delays, (scene, kills) = told.size((12, ("warm-day", 1)), (200, ("cold-start", 3)))
    with browser.phone() as chrome:
        delays_ms = phone_page.delays_ms(chrome, count=delays, seed=told.seed)
        contrasts = phone_page.all_contrasts(chrome)
        job = phone_page.whole_job(chrome, scene=scene, speed=20)
        ends = phone_page.seconds_to_no_go(chrome, times=kills)
    print("Snapshot to drawn page")
    told.tell("delays", len(delays_ms), least=0.95 * delays)
    told.tell("delay_median_ms", float(np.median(delays_ms)))
    told.tell("delay_p95_ms", float(np.percentile(delays_ms, 95)), most=DELAY_MS)
    worst = min(contrasts, key=lambda k: contrasts[k])
    print(f"Contrast, the least at {worst}")
    told.tell("texts", len(contrasts))
    told.tell("contrast_least", contrasts[worst], least=CONTRAST)
    print("A whole job by thumb, and NO-GO after a kill and after a freeze")
    told.tell("job_phases", ", ".join(job.phases))
    told.tell("job_marks", job.marks, least=2)
    told.tell("job_judged", job.judged, want=True)
    for end in ("killed", "frozen"):
        told.tell(f"{end}_worst_s", max(ends[end]), most=NO_GO_S)


def main() -> int:
    """Show everything; 1 if a figure misses."""
    told = ShowRun("phone")
    show_load(told)
    show_page(told)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())

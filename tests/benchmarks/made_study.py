"""A generated study for benchmarks: any number of trips out of the demo's home, three flights each on average."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np

from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import Study, load_study

NEAR = ("KOMA", "KLNK", "KLBF", "KSUX", "KHYS", "KMHK", "KONL", "KYKN", "KOGA", "KMCK", "KVTN", "KCNK", "KFSD", "KDSM",
        "KICT", "KTOP", "KMKC", "KAMW", "KCID", "KPIR")
FAR = ("KDEN", "KAPA", "KCPR", "KRAP", "KTUL", "KSTL", "KMSP", "KDLH", "KOKC", "KMSN")


def made_study(folder: Path, trips: int = 110, seed: int = 1) -> Study:
    """Return a study of the demo's candidates with made-up trips: one to four places, 2.7 legs on average."""
    random = np.random.default_rng(seed)
    rows = ["date,time,from,to,return,return_time,adults,children,bags_lb,must_go"]
    for k in range(trips):
        start = date(2025, 1, 6) + timedelta(days=int(k * 350 / trips))
        pool = FAR if random.random() < 0.15 else NEAR
        count = 1 + int(random.random() < 0.5) + int(random.random() < 0.2)
        places = random.choice(len(pool), size=count, replace=False)
        back = start + timedelta(days=int(random.random() < 0.3))
        rows.append(f"{start},{7 + int(random.integers(3)):02d}:30,KGRI,{' '.join(pool[p] for p in places)},{back},"
                    f"16:30,{1 + int(random.integers(4))},0,{int(random.integers(300))},"
                    f"{'yes' if k % 7 == 0 else 'no'}")
    (folder / "trips.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    text = (demo_folder() / "studies" / "buyer.yaml").read_text(encoding="utf-8")
    text = text.replace("../trips/farm_dealer.csv", "trips.csv").replace("../aircraft", str(demo_folder() / "aircraft"))
    (folder / "study.yaml").write_text(text, encoding="utf-8")
    return load_study(str(folder / "study.yaml"))

"""What the works and the trade of a random world are: families, tunes, suppliers."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import TypeVar

from tests.second_opinion.reading import ORDERS, Record

T = TypeVar("T")

SEATS = ("ST-14", "st 14", "ST_14", "ST-16", "ST16", "ST-18")
ENDS = ("D13", "d-13", "D 15", "D15")
NOTHING = ("?", "--", "unknown", "Not known", "n/a", "n.a.", "TBC", "tbd", "None", "NA")
BEARINGS = ("6202", "6203", "6004", "6202-2RS", "6203 C3", "6004/C3", "6202ZZ", "6202/16")
CURRENCIES = ("EUR", "EUR", "SEK", "DKK")
HANDS = ("left", "right")
MODULES = (0.75, 1.5, 1.5, 1.5, 1.5, 2.5, 3.5, 4.5, 7)
TYRES = ("3.50-10", "4.00-10", "120/70-12", "110/75-17", "130/60-13")


class Works:
    """One random world in the making."""

    def __init__(self, seed: int, size: int) -> None:
        self.size = size
        self.random = random.Random(seed)
        self.harsh = self.one((0.25, 0.5, 1.0))
        """How often data contradict each other, against the worst of worlds."""
        self.families: dict[str, Record] = {}
        self.pools: dict[str, dict[str, list[str]]] = {}
        self.modules: dict[str, dict[str, float]] = {}
        """The usual normal module of each family and stage, mm."""
        self.tunes: dict[str, Record] = {}
        self.suppliers: dict[str, Record] = {}
        self.sets: dict[str, dict[str, Record]] = {}
        self.shelf: dict[str, Record] = {}
        self.machines: dict[str, Record] = {}
        self.tyres: dict[str, Record] = {}

    # --- chance ---

    def may(self, chance: float) -> bool:
        """Whether something happens that has this chance."""
        return self.random.random() < chance

    def one(self, things: Sequence[T]) -> T:
        """One of several."""
        return self.random.choice(things)

    def slip(self, chance: float) -> bool:
        """Whether data go wrong that do so with this chance in the worst of worlds."""
        return self.may(chance * self.harsh)

    def some(self, things: Sequence[T], least: int = 0) -> list[T]:
        """Some of several, in any order."""
        return self.random.sample(things, self.random.randint(min(least, len(things)), len(things)))

    def code(self, codes: Sequence[str], unlikely: float) -> str:
        """A code, most often the first, now and then a word for nothing."""
        if self.may(unlikely):
            return self.one(NOTHING)
        return self.one(codes) if self.slip(0.4) else self.one(codes[: len(codes) // 2])

    # --- families ---

    def make_families(self) -> None:
        """One family to be asked about, and perhaps others beside it."""
        for number in range(self.random.choice((1, 2, 2, 3))):
            self.make_family(f"fam-{number}", number)

    def make_family(self, name: str, number: int) -> None:
        stages = self.random.choices(ORDERS, (2, 6, 3))[0]
        if number and self.may(0.6):
            stages = tuple(self.families["fam-0"]["stages"])
        housings = ["short", "mid", "long"][: self.random.choice((1, 2, 2, 3))]
        self.pools[name] = {stage: self.pool(stage) for stage in stages}
        self.modules[name] = {stage: self.one(MODULES) for stage in stages}
        family: Record = {
            "name": f"Wader {number}",
            "aliases": [f"WD{number}", *self.some(["Mudlark"], 0)],
            "housings": {key: {"name": f"{key} case"} for key in housings},
            "stages": {stage: {} for stage in stages},
        }
        self.families[name] = family
        self.add_trains(name, stages, housings)
        self.add_casing(name, stages, housings)
        self.add_interfaces(family, stages)

    def pool(self, stage: str) -> list[str]:
        """Pairs of one stage that the works and the trade know."""
        low, high = {"primary": (14, 17), "secondary": (13, 16)}.get(stage, (12, 15))
        return [
            f"{self.random.randint(low, high)}/{self.random.randint(38, 48)}"
            for _ in range(self.random.choice((2, 3, 4)))
        ]

    def add_trains(self, name: str, stages: Sequence[str], housings: list[str]) -> None:
        """Factory trains that share pairs, between housings and within one."""
        pool = self.pools[name]
        trains: list[Record] = []
        for number in range(self.random.choice((0, 1, 2, 3, 3, 4, 6))):
            train: Record = {
                "housing": self.one(housings),
                "wheel_size_in": self.one((10, 10, 12)),
                "pairs": {stage: self.one(pool[stage][:3]) for stage in stages},
            }
            if self.may(0.7):
                train["models"] = [f"Tattler {name[-1]}{number}"]
                if self.may(0.15):
                    train["models"].append("Common Model")
            trains.append(train)
        if trains:
            self.families[name]["factory_trains"] = trains

    def add_casing(self, name: str, stages: Sequence[str], housings: list[str]) -> None:
        """Distances, tolerances, hands and rooms, as far as somebody has looked."""
        family = self.families[name]
        for stage in stages:
            shafts = family["stages"][stage]
            if self.may(0.85):
                driver, driven = map(int, self.pools[name][stage][0].split("/"))
                base = self.modules[name][stage] * (driver + driven) / 2
                shafts["centre_distance_mm"] = round(base * self.one((1.0, 1.02, 1.064)), 2)
                if self.may(0.4):
                    shafts["tolerance_mm"] = self.one((0.01, 0.02, 0.03, 0.06))
            if self.may(0.75):
                shafts["driver_hand"] = self.one((*HANDS, *HANDS, "spur"))
            if self.may(0.5):
                shafts["max_tip_diameter_mm"] = self.room(name, stage)
            for housing in housings:
                if self.may(0.4):
                    rooms = family["housings"][housing].setdefault("max_tip_diameter_mm", {})
                    rooms[stage] = self.room(name, stage)

    def room(self, name: str, stage: str) -> float:
        """A largest tip diameter that some driven gears of the usual module keep to."""
        return round(self.modules[name][stage] * self.random.uniform(44, 53), 1)

    def add_interfaces(self, family: Record, stages: Sequence[str]) -> None:
        """Shaft ends, seats and bearings: known, unknown, or not looked at."""
        interfaces: Record = {}
        if self.may(0.75):
            interfaces["input_shaft_end"] = self.code(ENDS, 0.15)
        if self.may(0.75):
            interfaces["output_shaft_end"] = self.code(ENDS, 0.15)
        if len(stages) > 1 and self.may(0.8):
            most = len(stages) - 1
            count = most if self.may(0.85) else self.random.randint(1, most)
            interfaces["idler_seats"] = [self.code(SEATS, 0.15) for _ in range(count)]
        if self.may(0.7):
            interfaces["bearings"] = self.some(BEARINGS[:4], 1)
            if self.may(0.15):
                interfaces["bearings"].append(self.one(NOTHING))
        if interfaces:
            family["interfaces"] = interfaces

    # --- trade ---

    def make_tunes(self) -> None:
        """Bands with and without a stretch, also below zero, and families that move them."""
        for name in ("stock", "pipe", "kit")[: self.random.choice((1, 2, 3))]:
            low = self.random.choice((-12, -5, 0, 0, 2.5, 5, 8, 10))
            high = low + self.random.choice((0, 4, 5, 7.5, 10, 15))
            tune: Record = {"name": f"{name} engine", "low": low, "high": high}
            if self.may(0.6):
                tune["stretch"] = high + self.random.choice((0, 2, 5, 7.5))
            self.tunes[name] = tune
            for family in self.families.values():
                if self.may(0.35):
                    family.setdefault("bands", {})[name] = self.family_band(tune)

    def family_band(self, tune: Record) -> Record:
        """A band that narrows or widens the tune's, its edges still in order."""
        own: Record = {}
        low, high, stretch = tune["low"], tune["high"], tune.get("stretch")
        if self.may(0.5):
            own["high"] = high = high - self.one((0, 1, (high - low) / 2, -2.5))
            if stretch is not None and stretch < high:
                own["stretch"] = high + 1
        if self.may(0.5) or not own:
            own["low"] = min(low + self.one((-3, 1.5)), high)
        return own

    def make_tyres(self) -> None:
        """Tyres of the catalogue, most of them counted."""
        for number, size in enumerate(self.some(TYRES, 2)):
            tyre: Record = {"size": size, "wheel_size_in": int(size.split("-")[1])}
            if self.may(0.7):
                tyre["roll_out_mm"] = self.random.randint(1290, 1420)
                tyre["basis"] = "counted"
            self.tyres[f"tyre-{number}"] = tyre

    def make_suppliers(self) -> None:
        """Suppliers, one of whom has answered words of its list."""
        for number in range(self.random.choice((1, 2, 3))):
            supplier: Record = {"name": f"Saltmarsh {number}"}
            if self.may(0.7):
                supplier["currency"] = self.one(CURRENCIES)
            words = {}
            if self.may(0.7):
                words["Old Word"] = self.one([*self.families])
            if self.may(0.4):
                words["Stranger"] = None
            if words:
                supplier["list_mapping"] = {"model_words": words}
            self.suppliers[f"sup-{number}"] = supplier
            self.sets[f"sup-{number}"] = {}

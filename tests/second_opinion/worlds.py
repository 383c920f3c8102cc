"""Random worlds: small catalogues in YAML, full of the traps that docs/matching.md speaks of.

`build(seed, folder)` writes one. Everything hangs on the seed.
Geometry aims at the casing: pairs that run at its distance, nearly, and not at all.
"""

from __future__ import annotations

import math
from pathlib import Path

import yaml

from tests.second_opinion.gearing import Teeth, shift_sum_for
from tests.second_opinion.reading import ORDERS, Record
from tests.second_opinion.works import BEARINGS, CURRENCIES, ENDS, HANDS, SEATS, TYRES, Works


class Maker(Works):
    """One random world in the making: its works, and what is sold and ridden there."""

    # --- gear sets ---

    def make_sets(self) -> None:
        """Sets for the first family, and some for the others."""
        for family in self.families:
            stages = tuple(self.families[family]["stages"])
            for stage in stages:
                least, most = {1: (6, 30), 2: (4, 14), 3: (2, 6)}[len(stages)]
                for _ in range(
                    self.size * self.random.randint(least, most) if family == "fam-0" else 1
                ):
                    self.make_set(family, (stage,))
            for _ in range(self.random.choice((0, 1, 2, 3))):
                self.make_set(family, stages)
            if len(stages) == 3 and self.may(0.7):
                self.make_set(family, tuple(stages[:2] if self.may(0.5) else stages[1:]))
        if self.may(0.3):
            self.make_set("fam-0", self.one(ORDERS))

    def make_set(self, family: str, holds: tuple[str, ...]) -> None:
        number = sum(map(len, self.sets.values())) + 1
        supplier = self.one([*self.sets])
        record: Record = {
            "part_number": f"N{number}",
            "pairs": {stage: self.pair(family, stage) for stage in holds},
        }
        fits = self.claims(family, holds)
        if fits:
            record["fits"] = fits
        if self.may(0.25 if fits else 0.8):
            record["listed_for"] = self.listing(family)
        geometry = {}
        for stage in holds:
            if stage in self.families[family]["stages"] and self.may(0.6):
                geometry[stage] = self.geometry(family, stage, record["pairs"][stage])
        if geometry:
            record["geometry"] = geometry
        self.add_set_interfaces(record, family)
        self.add_terms(record, holds)
        name = f"{self.one('ABC')}{self.random.randint(1, 9)}-{number}"
        self.sets[supplier][name] = record
        if self.may(0.4):
            entry: Record = {"quantity": self.one((0, 1, 2, 5))}
            if self.may(0.6):
                entry["price"] = self.money()
            self.shelf[name] = entry

    def pair(self, family: str, stage: str) -> str:
        """A pair the works know, one that ties with another, or a new one."""
        pool = self.pools[family].get(stage) or self.pool(stage)
        known = self.one(pool)
        driver, driven = map(int, known.split("/"))
        chance = self.random.random()
        if chance < 0.2:
            return known
        if chance < 0.35:
            factor = self.one((10, 8, 12, 11, 9))
            exact = round(driven * 100 / (100 + factor)) if driven % 5 else driven * 10 // (10 + 1)
            return f"{driver}/{max(driver + 5, exact)}"
        if chance < 0.4:
            # Teeth about 1.6 times the factory's, or 1/1.6 of them, or far beyond.
            teeth = round((driver + driven) * self.one((1.6, 1.6, 0.625, 0.625, 0.3, 2.2)))
            return f"{max(5, teeth // 4)}/{max(11, teeth - teeth // 4)}"
        if chance < 0.45:
            return self.one(("15/45", "14/42", "16/48", "15/40", "12/36", "13/39", "15/36"))
        return (
            f"{max(11, driver + self.random.randint(-2, 3))}/{driven + self.random.randint(-7, 5)}"
        )

    def claims(self, family: str, holds: tuple[str, ...]) -> list[Record]:
        """Who vouches for it: for some housings, all, all together, none named, other families."""
        chance = self.random.random()
        if chance < 0.14:
            return []
        if chance < 0.14 + 0.1 * self.harsh and len(self.families) > 1:
            return [self.claim(self.other(family))]
        claims = [self.claim(family)]
        if self.may(0.35):
            claims.append(self.claim(family))
        if self.may(0.05):
            claims = [self.claim(family) | {"evidence": "measured"} for _ in range(2)]
        if self.may(0.12):
            claims.append(self.claim(family))
        if self.may(0.15):
            claims += [
                {"family": family, "housings": [h]} for h in self.families[family]["housings"]
            ]
            for claim in claims:
                if self.may(0.3):
                    claim["evidence"] = "measured"
        if len(self.families) > 1 and self.may(0.12):
            claims.append(self.claim(self.other(family)))
        self.random.shuffle(claims)
        return claims

    def other(self, family: str) -> str:
        """Another family."""
        return self.one([name for name in self.families if name != family])

    def claim(self, family: str) -> Record:
        housings = [*self.families[family]["housings"]]
        claim: Record = {"family": family}
        if self.may(0.85):
            claim["housings"] = housings if self.may(0.5) else self.some(housings, 1)
        if self.may(0.4):
            claim["evidence"] = self.one(("measured", "measured", "stated"))
        return claim

    def listing(self, family: str) -> Record:
        """Words of a list: of this family, of others, answered ones, and words nobody knows."""
        words = ["Old Word", "Stranger", "Nobody's Model", "Common Model", "Mudlark"]
        for name in self.families:
            if name == family or self.may(0.5):
                words += self.words_of(name)
        listing: Record = {
            "models": self.random.sample(words, min(len(words), self.one((1, 1, 2, 3))))
        }
        if self.may(0.3):
            listing["wheel_size_in"] = self.one((10, 12))
        return listing

    def words_of(self, family: str) -> list[str]:
        """A family's names and models, with capitals or without."""
        record = self.families[family]
        words = [record["name"], *record["aliases"]]
        for train in record.get("factory_trains", []):
            words += train.get("models", [])
        return [word.upper() if self.may(0.2) else word for word in words]

    def geometry(self, family: str, stage: str, pair: str) -> Record:
        """Geometry that gives the casing's distance, nearly gives it, or does not."""
        shafts = self.families[family]["stages"][stage]
        driver, driven = map(int, pair.split("/"))
        usual = self.modules[family][stage]
        module = usual if self.may(0.7) else round(usual * self.one((5 / 6, 7 / 6)), 3)
        angle = self.one((0, 0, 8, 15, 20))
        geometry: Record = {"normal_module_mm": module, "helix_angle_deg": angle}
        if self.may(0.3):
            geometry["pressure_angle_deg"] = self.one((20, 20, 14.5, 17.5, 25))
        distance = shafts.get("centre_distance_mm")
        if distance and not self.slip(0.25):
            self.aim(geometry, distance, driver, driven)
        elif self.may(0.6):
            geometry["profile_shift_sum"] = round(self.random.uniform(-2, 2), 3)
        if self.slip(0.1):
            geometry["profile_shift_sum"] = -4.9
        if self.may(0.12):
            geometry.pop("profile_shift_sum", None)
        if "profile_shift_sum" in geometry and self.may(0.6):
            geometry["driver_profile_shift"] = self.driver_shift(family, stage, geometry, driven)
        if shafts.get("driver_hand") == "spur" and not self.slip(0.4):
            geometry["helix_angle_deg"] = 0
        if self.may(0.7) if geometry["helix_angle_deg"] else self.slip(0.15):
            geometry["driver_hand"] = shafts.get("driver_hand", "left")
            if geometry["driver_hand"] == "spur":
                geometry["driver_hand"] = self.one(HANDS)
            elif self.slip(0.35):
                geometry["driver_hand"] = HANDS[geometry["driver_hand"] == "left"]
        if self.may(0.35):
            geometry["driven_tip_diameter_mm"] = self.tip(family, stage, module, driven)
        return geometry

    def aim(self, geometry: Record, distance: float, driver: int, driven: int) -> None:
        """Choose helix and shift sum so that the pair runs near DISTANCE."""
        cosine = geometry["normal_module_mm"] * (driver + driven) / (2 * distance)
        if cosine < 1 and self.may(0.5):
            geometry["helix_angle_deg"] = min(45, round(math.degrees(math.acos(cosine)), 1))
        off = self.one((0, 0, 0, 0.005, -0.009, 0.012, 0.0175, -0.021, 0.0255, -0.029))
        if self.slip(0.6):
            off = self.one((0.025, -0.03, 0.04, -0.045, 0.049, 0.055, -0.07, 0.3, -1))
        pair = Teeth(
            driver,
            driven,
            geometry["normal_module_mm"],
            math.radians(geometry["helix_angle_deg"]),
            math.radians(geometry.get("pressure_angle_deg", 20)),
        )
        needed = shift_sum_for(pair, distance + off)
        if needed is not None and abs(needed) < 5:
            geometry["profile_shift_sum"] = round(needed, 4)

    def driver_shift(self, family: str, stage: str, geometry: Record, driven: int) -> float:
        """A shift of the driver; now and then one by which the driven gear's tips just hit."""
        room = self.families[family]["stages"][stage].get("max_tip_diameter_mm")
        if room and self.may(0.5):
            module = geometry["normal_module_mm"]
            reference = module * driven / math.cos(math.radians(geometry["helix_angle_deg"]))
            driven_shift = (room + self.one((0.01, 0.03, 0.06)) - reference) / (2 * module) - 1
            shift = round(geometry["profile_shift_sum"] - driven_shift, 4)
            if abs(shift) < 3:
                return shift
        return round(self.random.uniform(-0.2, 0.6), 2)

    def tip(self, family: str, stage: str, module: float, driven: int) -> float:
        """A tip diameter about the rooms of the family, also just at one."""
        record = self.families[family]
        rooms = [
            housing["max_tip_diameter_mm"][stage]
            for housing in record["housings"].values()
            if stage in housing.get("max_tip_diameter_mm", {})
        ]
        shared = record["stages"][stage].get("max_tip_diameter_mm")
        rooms += [shared] if shared else []
        if not rooms:
            return round(module * (driven + 2), 2)
        off = self.one((0.1, 5, 2)) if self.slip(0.6) else self.one((0, -0.1, -1, -4, -8))
        return round(self.one(rooms) + off, 2)

    def add_set_interfaces(self, record: Record, family: str) -> None:
        """What the set needs and brings, often what the family has."""
        factory = self.families[family].get("interfaces", {})
        own: Record = {}
        if len(record["pairs"]) == 2 and self.may(0.5):
            own["wheel_seat"], own["pinion_seat"] = self.one(SEATS), self.one(SEATS)
        for end in ("input_shaft_end", "output_shaft_end"):
            if self.may(0.6):
                usual = factory.get(end)
                own[end] = self.code(ENDS, 0.2) if self.slip(0.4) or not usual else usual
        seats = factory.get("idler_seats") or [None]
        for seat in ("wheel_seat", "pinion_seat"):
            if seat not in own and self.may(0.7):
                usual = self.one(seats)
                own[seat] = self.code(SEATS, 0.2) if self.slip(0.5) or not usual else usual
        if self.may(0.35):
            usual = factory.get("bearings")
            own["bearings"] = self.some(BEARINGS if self.slip(0.5) or not usual else usual, 1)[:2]
            if self.may(0.12):
                own["bearings"].append("?")
        if own:
            record["interfaces"] = own

    def add_terms(self, record: Record, holds: tuple[str, ...]) -> None:
        """What was measured, what is missing, price, stock, and whether it is still sold."""
        if self.may(0.5):
            record["measured"] = self.some(
                (
                    "pairs",
                    "geometry",
                    "input_shaft_end",
                    "pinion_seat",
                    "wheel_seat",
                    "output_shaft_end",
                    "bearings",
                ),
                1,
            )
        if self.may(0.06):
            record["members"] = {self.one(holds): self.some(("driver", "driven"), 1)}
        if self.may(0.8):
            record["price"] = self.money()
        if self.may(0.3):
            record["currency"] = self.one(CURRENCIES)
        if self.may(0.6):
            record["availability"] = self.one(("in-stock", "to-order", "discontinued", "unknown"))
        if self.may(0.08):
            record["status"] = "retired"

    def money(self) -> float:
        """A price; round ones tie."""
        return self.one((0, 50, 50, 55.5, 60, 64.9, 70.25, round(self.random.uniform(40, 90), 2)))

    # --- machines ---

    def make_machines(self) -> None:
        """Machines as they left the works, and changed before, known more and less well."""
        for number in range(3):
            family = "fam-0" if number or self.may(0.8) else self.one([*self.families])
            self.machines[f"machine-{number}"] = self.machine(family, number)

    def machine(self, family: str, number: int) -> Record:
        record = self.families[family]
        stages = tuple(record["stages"])
        trains = record.get("factory_trains", [])
        machine: Record = {"name": f"Machine {number}", "family": family}
        if trains and self.may(0.85):
            train = self.one(trains)
            machine["housing"], machine["wheel_size_in"] = train["housing"], train["wheel_size_in"]
            machine["pairs"] = dict(train["pairs"])
        else:
            machine["housing"] = self.one([*record["housings"]])
            machine["wheel_size_in"] = self.one((10, 12, 13))
            machine["pairs"] = {stage: self.one(self.pools[family][stage]) for stage in stages}
        if self.may(0.5):
            stage = self.one(stages)
            changed = self.one((self.pair(family, stage), self.one(self.pools[family][stage])))
            machine["pairs"][stage] = changed
        if self.may(0.3):
            del machine["housing"]
        if self.may(0.25):
            del machine["wheel_size_in"]
        if self.may(0.3):
            machine["tyre"] = self.one([*self.tyres])
        elif self.may(0.3):
            machine["tyre_size"] = self.one(TYRES)
        elif self.may(0.3):
            machine["roll_out_mm"] = self.random.randint(1290, 1420)
        if self.may(0.85):
            machine["tune"] = self.one([*self.tunes])
        if len(stages) > 1 and self.may(0.5):
            known = record.get("interfaces", {}).get("idler_seats", [])
            machine["idler_seats"] = [self.code(SEATS, 0.2) for _ in stages[1:]]
            if self.may(0.6):
                machine["idler_seats"][: len(known)] = known
        return machine

    # --- files ---

    def defaults(self, supplier: str) -> Record:
        """Fields given once for a file."""
        given: Record = {"supplier": supplier}
        if self.may(0.5):
            given["currency"] = self.suppliers[supplier].get("currency", "EUR")
        if self.may(0.3):
            given["availability"] = self.one(("in-stock", "to-order", "discontinued"))
        return given

    def files(self) -> dict[str, Record]:
        """Every file by its name."""
        files = {
            "families.yaml": {"kind": "family", "records": self.families},
            "tunes.yaml": {"kind": "tune", "records": self.tunes},
            "suppliers.yml": {"kind": "supplier", "records": self.suppliers},
            "tyres.yaml": {"kind": "tyre", "records": self.tyres},
            "machines/all.yaml": {"kind": "machine", "records": self.machines},
        }
        if self.shelf:
            files["shelf.yaml"] = {"kind": "shelf", "records": self.shelf}
        for supplier, records in self.sets.items():
            if records:
                files[f"sets/{supplier}.yaml"] = {
                    "kind": "gear-set",
                    "defaults": self.defaults(supplier),
                    "records": records,
                }
        return files


def build(seed: int, folder: Path, size: int = 1) -> None:
    """Write the world of SEED into FOLDER, SIZE times as many sets in it."""
    maker = Maker(seed, size)
    maker.make_families()
    maker.make_tunes()
    maker.make_tyres()
    maker.make_suppliers()
    maker.make_sets()
    maker.make_machines()
    for name, content in maker.files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        text = yaml.safe_dump(content, sort_keys=False, allow_unicode=True)
        path.write_text(text, encoding="utf-8")

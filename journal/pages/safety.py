"""Cautions: which words call for which, and what each says.

Signal words as ANSI Z535.6 defines them (the four of ANSI Z535.4-2007, 4.14): DANGER will result in death or
serious injury, WARNING could, CAUTION could result in minor or moderate injury, NOTICE is not about injury. DANGER
is for the most extreme only and stands nowhere here: a note cannot show that harm is certain. The page of a journal
is a record, no repair manual: each text sends on to those who know the machine.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Literal

from journal.ground.records import record
from journal.notes.kinds import says_no
from journal.pages.views import Caution

BINDING = (
    "Check the work against the maker's manual and local rules, and have it inspected by someone licensed to do so "
    "before the machine is used."
)


@record
class Hazard:
    """A caution and the words that call for it.

    words    a pattern over names of parts, jobs and slips; whole words, case ignored
    unless   a pattern that takes the match away
    line     true of a part and of a job: both may bear it
    first    it stands above all else on the part's page
    source   where the text's facts come from
    """

    id: str
    signal: Literal["WARNING", "CAUTION", "NOTICE"]
    words: str
    line: str
    text: str
    source: str
    unless: str = ""
    first: bool = False


SAFETY_PART = Hazard(
    "safety-part", "WARNING", "",
    "This part keeps people safe.",
    f"If it fails, people can be killed or badly hurt. {BINDING}",
    "Signal word after ANSI Z535.4-2007, 4.14.2", first=True,
)

HAZARDS: tuple[Hazard, ...] = (
    Hazard(
        "brakes", "WARNING",
        r"brakes?|braking|hand ?brake|master cylinder|wheel cylinder|calliper carrier|drag link brake",
        "Brakes: they keep people safe.",
        f"A brake that fails can kill. {BINDING}",
        "Signal word after ANSI Z535.4-2007, 4.14.2", first=True,
    ),
    Hazard(
        "steering", "WARNING",
        r"steering|tiller|track rod|tie rod|drag link|king ?pin|ball joint|steering box|drop arm",
        "Steering: it keeps people safe.",
        f"Steering that comes adrift can kill. {BINDING}",
        "Signal word after ANSI Z535.4-2007, 4.14.2", first=True,
    ),
    Hazard(
        "restraint", "WARNING", r"seat ?belts?|belt anchor(age)?|air ?bag|seat harness|restraint",
        "Restraint: it keeps people safe.",
        f"A belt or its anchorage that tears out can kill. {BINDING}",
        "Signal word after ANSI Z535.4-2007, 4.14.2", first=True,
    ),
    Hazard(
        "lifting", "WARNING",
        r"lifting (eye|lug|point|chain|hook)|hoist|crane|jib|tow(ing)? (eye|hook|bar)|draw ?bar|coupling hook",
        "Lifting and towing: the gear carries a load.",
        f"A load that drops or breaks loose can kill. {BINDING}",
        "Signal word after ANSI Z535.4-2007, 4.14.2", first=True,
    ),
    Hazard(
        "structure", "WARNING",
        r"sills?|chassis|sub ?frame|frame rail|side member|cross ?member|outrigger|jacking point|[abc] pillar|bulkhead",
        "Structure: the machine's strength rests on it.",
        f"Prop the machine so that it keeps its shape before anything of it is cut or taken out. {BINDING}",
        "Signal word after ANSI Z535.4-2007, 4.14.2; propping is common practice, no published source", first=True,
        unless=r"sill (trim|plate|cover|mat)|chassis (number|plate)",
    ),
    Hazard(
        "fuel", "WARNING", r"fuel|petrol|gasoline|diesel|carburettor|tank (sender|strap)",
        "Fuel: its vapour burns and explodes.",
        "Keep flames, sparks and switches away, work in the open air, and never drain a tank over or near a pit: the "
        f"vapour is heavier than air and gathers there. {BINDING}",
        "HSE list for motor vehicle repair: never drain petrol tanks near or over a pit", first=True,
        unless=r"fuel gauge",
    ),
    Hazard(
        "hot-work", "WARNING",
        r"weld(s|ed|ing)?|braz(e|ed|ing)|gas cut(ting)?|flame|torch|grind(er|ing)?|ground off|plug welds?|spot welds?",
        "Hot work: sparks start fires long after.",
        "Clear or cover all that burns within 10.7 m (35 ft), disconnect the battery, and keep watch for at least 30 "
        "minutes after the last spark; many now wait 60.",
        "29 CFR 1910.252(a)(2): 35 ft, half an hour; an hour after NFPA 51B-2019 (from memory)",
    ),
    Hazard(
        "zinc-fume", "CAUTION", r"zinc|galvani[sz]ed|weld[- ]through",
        "Zinc fume: welding over it makes you ill.",
        "Take zinc primer or galvanising off where the arc will stand, draw the fume away and wear the mask that its "
        "sheet names. The fever comes hours later.",
        "Metal fume fever; OSHA limit for zinc oxide fume 5 mg/m³ (from memory)",
    ),
    Hazard(
        "battery", "WARNING", r"batter(y|ies)|accumulators?|traction cells?",
        "Batteries: acid, and gas that explodes.",
        "A charging battery gives off hydrogen, which explodes from 4.1 % in air: air the room, keep sparks away, take "
        "the earth lead off first, cover the terminals, and wear eye protection against the acid.",
        "Lower explosive limit 4.1 %: OSHA letter of 26 January 1976; HSE COSHH sheet SR18; "
        "earth lead first is common practice, no published source",
        unless=r"battery (clamp|cover|box lid|tray)",
    ),
    Hazard(
        "jacking", "WARNING", r"jack(s|ed|ing)?( up)?|axle stands?|stands? under|under the (machine|vehicle|car|truck)",
        "Jacks slip: never go beneath a machine that only a jack holds.",
        "Set it on axle stands on firm ground, try it with a push before you go under, and have the stands looked over "
        "every year.",
        "HSE INDG434; HSE motor vehicle repair pages; HSG261",
        unless=r"jack(ing)? point|jack socket|jack plug",
    ),
    Hazard(
        "springs", "WARNING",
        r"(coil|leaf|road|suspension|valve|return|torsion) springs?|torsion bar|spring (hanger|shackle|seat)",
        "Springs: a loaded spring flies.",
        "Take the load off with the right compressor or with the weight on stands before anything that holds the "
        "spring is undone, and keep out of its line.",
        "common practice, no published source",
    ),
    Hazard(
        "lead", "WARNING", r"lead (paint|filler|loading|solder)|body lead|red lead|old paint|lead-based",
        "Lead: old paint and filler may hold it.",
        "Do not dry sand, burn or grind it. Wet it, wear the right mask, keep children away, wash before you eat, and "
        "take the waste where lead is taken.",
        "29 CFR 1910.1025: limit 50 µg/m³, action level 30 µg/m³; old paint holding lead is common knowledge",
    ),
    Hazard(
        "asbestos", "WARNING",
        r"brake (shoes?|pads?|linings?|drums?)|clutch (plate|linings?|disc)|asbestos|(exhaust|head) gasket|lagging",
        "Asbestos: older linings and gaskets may hold it.",
        "Do not blow, brush or grind the dust: wet it, bag it, wear the right mask, or have it tested and taken away "
        "by those licensed for it.",
        "HSE list for motor vehicle repair (brake and clutch linings); gaskets from memory",
    ),
)

RECORD_ONLY = (
    "This journal is a record of one build, not a repair manual. For how the work is to be done, the maker's manual, "
    "local rules and licensed practice come first."
)


def cautions(names: Iterable[str], safety: str = "") -> tuple[Caution, ...]:
    """The cautions that these words call for; `safety` is what was written under that key ("" or "no": nothing).

    Those of safety parts first, then in the order of the table.
    """
    found = [*_called("\n".join((*names, safety)))]
    if safety.strip() and not says_no(safety) and not any(hazard.first for hazard in found):
        found.insert(0, SAFETY_PART)
    found.sort(key=lambda hazard: not hazard.first)
    return tuple(Caution(h.id, h.signal, h.line, h.text, h.source, h.first) for h in found)


@lru_cache(4096)
def _called(words: str) -> tuple[Hazard, ...]:
    return tuple(hazard for hazard in HAZARDS if _calls(hazard, words))


def _calls(hazard: Hazard, words: str) -> bool:
    left = re.sub(rf"\b(?:{hazard.unless})\b", " ", words, flags=re.I) if hazard.unless else words
    return re.search(rf"\b(?:{hazard.words})\b", left, flags=re.I) is not None

"""What can hurt someone: the hazards a plan may name, and the short caution each one brings.

A caution tells what goes wrong and what to ask before the work is done. It never says that something is safe and it
gives no limit value: limits belong to the local code, the supplier's data sheet and the person licensed to decide.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from linewright.base.problems import Problem, did_you_mean

DEFER = (
    "Follow local codes and the supplier's data sheet, "
    "and have a licensed or competent person decide before work starts."
)
"""How every caution ends."""

_HAZARDS: Mapping[str, str] = {
    "combustible dust": (
        "Fine dust in air can burn or explode, and settled dust can be thrown up and feed a second, larger "
        "explosion. Mills, dryers, ducts, cyclones, filters and ledges all count. Ask for a dust hazard "
        "analysis: test of the dust, extraction, housekeeping, earthing, spark detection, venting or "
        "suppression."
    ),
    "carbon dioxide": (
        "Fermentation gives off carbon dioxide. It is heavier than air, collects in pits, cellars and "
        "tanks, and takes consciousness without warning. Nobody enters a tank or a low room on their nose "
        "alone. Ask about fixed gas alarms, ventilation from low level and an entry procedure."
    ),
    "solvent vapour": (
        "Solvent vapour can catch fire away from its source and harms lungs, nerves and skin. Ask about "
        "extraction at the source, ignition sources, earthing of containers, gloves and exposure limits."
    ),
    "hot press": (
        "Platens burn and crush at once. Material can spit steam or split when the press opens. Ask about "
        "guarding, two-hand control or light curtain, a tested emergency opening and extraction of fumes."
    ),
    "hot surface": (
        "Ovens, dryers, steam pipes and fresh parts burn on touch, often with no visible sign. Ask about "
        "guarding, insulation, marking, gloves and time to cool before handling."
    ),
    "pinch points": (
        "Rollers, chains, belts, clamps and closing tools draw in hands, hair and sleeves. Ask about fixed "
        "and interlocked guards, and about locking off energy before clearing a jam."
    ),
    "robot cell": (
        "A robot starts without notice and reaches further than it seems. Ask about fenced or monitored "
        "space, interlocked gates, reduced speed for teaching, and a risk assessment of the whole cell."
    ),
    "isocyanate resin": (
        "Isocyanates can cause asthma that lasts for life, from vapour, spray or hot or sanded resin, and "
        "through the skin. Ask about enclosed dosing, extraction, breathing protection, health checks and "
        "spills."
    ),
    "formaldehyde resin": (
        "Formaldehyde is given off while pressing, cooling and sanding; it irritates, sensitises and can "
        "cause cancer. Ask about extraction at press and cooler, measurement in air, ventilation of stacks "
        "and product emission."
    ),
    "lifting": (
        "Lifting, turning and reaching hurt backs and shoulders, by one heavy lift or by many light ones. "
        "Ask for an assessment of weight, reach, height and frequency, and for hoists, tables or a second "
        "person."
    ),
    "repetitive work": (
        "The same short movement all day harms hands, wrists, elbows and neck. Ask about rotation, rest, "
        "tool and bench height, and early reports of pain."
    ),
    "noise": (
        "Loud work takes hearing slowly and for good, and hides warning shouts. Ask for a measurement at "
        "the ear, quieter tools or enclosure first, then hearing protection and hearing tests."
    ),
    "vibration": (
        "Hand tools that shake harm nerves and blood vessels of the hands. Ask about measured vibration, "
        "time of use in a day, tool choice and maintenance."
    ),
    "sharp blade": (
        "Knives, saws and cutters take fingers quickly, also when changed or cleaned. Ask about guards, "
        "push sticks, brake time, cut-resistant gloves where nothing turns, and locking off energy."
    ),
    "rotating machine": (
        "Spindles, shafts and drums catch cloth, gloves, hair and swarf. Ask about guards, close clothing, "
        "no gloves at open spindles, and an emergency stop within reach."
    ),
    "flying particles": (
        "Chips, sparks, springs and staples reach the eye. Ask about screens, extraction and eye protection "
        "fit for the work."
    ),
    "forklift traffic": (
        "Trucks and people in one space is how people are run over. Ask about separate ways, sight at "
        "corners, speed, lights, driver licences and loads that stay put."
    ),
    "falling load": (
        "Stacks, racks, hoists and raised parts come down. Ask about rated and inspected lifting gear, "
        "stack height, rack protection and nobody under a load."
    ),
    "work at height": (
        "Falls from ladders, platforms, tank tops and openings kill. Ask about doing it from the ground, "
        "then rails, then fall protection, and rescue."
    ),
    "confined space": (
        "Tanks, silos and pits can lack air or hold gas, and those who rush in to help die too. Nobody "
        "enters without a permit, a gas test, isolation, a person outside and a rescue plan."
    ),
    "caustic cleaner": (
        "Strong alkalis and acids burn eyes and skin, and some give off poison gas when mixed with each "
        "other. Ask about closed dosing, face and hand protection, eyewash, labels and never mixing."
    ),
    "hot liquid": (
        "Hot water, steam and syrup scald, and hoses come off. Ask about fixed pipes, coupling checks, "
        "temperature limits and protective clothing."
    ),
    "pressure": (
        "Compressed air, steam, carbonation and hydraulics hold energy when the machine is off. Ask about "
        "relief devices, inspection, rated parts, and letting pressure down before work."
    ),
    "hydraulic oil": (
        "A fine jet of hydraulic oil goes through skin and needs surgery at once; a mist burns. Ask about "
        "hose inspection, no searching for leaks by hand, and locking off energy."
    ),
    "electricity": (
        "Mains and stored charge kill and start fires. Ask for work by qualified people only, isolation "
        "that is proved dead, and protection in wet places."
    ),
    "slippery floor": (
        "Water, oil, dust and offcuts make people fall. Ask about drains, floor surface, shoes, and "
        "cleaning up at once."
    ),
    "glass breakage": (
        "Bottles and panes burst, under pressure or by shock of heat. Ask about guards, eye and hand "
        "protection, and clearing the line after a break so that no glass reaches the product."
    ),
    "wood dust": (
        "Wood and plant dust harms nose and lungs, and some kinds can cause cancer; it also burns. Ask "
        "about extraction, measurement in air, cleaning without blowing, and breathing protection."
    ),
    "resin skin contact": (
        "Epoxy and other uncured resins can make people allergic for life. Ask about dosing without touch, "
        "gloves that the resin does not pass, barrier rules and clean surfaces."
    ),
    "welding fume": (
        "Welding gives fume that can cause cancer, light that burns eyes, and sparks that start fires. Ask "
        "about extraction at the arc, screens, a hot-work permit and a fire watch."
    ),
    "ultraviolet light": (
        "Curing lamps and arcs burn eyes and skin, without being felt at first. Ask about shielding, "
        "interlocks and eye protection."
    ),
    "laser": (
        "A beam or its reflection blinds and burns, and cutting gives fume. Ask about the laser class, "
        "enclosure, interlocks and a laser safety officer."
    ),
    "fire": (
        "Dryers, ovens, dust, solvent, packaging and batteries burn. Ask about detection, ways out, "
        "extinguishing suited to the material, and hot-work permits."
    ),
    "biological growth": (
        "Mould, bacteria and their spores harm workers and those who eat the product. Ask about cleaning "
        "proof, time and temperature limits, and allergens."
    ),
    "sulphur dioxide": (
        "Sulphur dioxide chokes, also in small amounts and worst for people with asthma. Ask about dosing "
        "without open handling, ventilation, gas alarm and breathing protection."
    ),
    "lone work": (
        "Nobody sees the person who works alone fall. Ask about which work must not be done alone, and regular contact."
    ),
}

_ALSO: Mapping[str, str] = {
    "dust explosion": "combustible dust",
    "co2": "carbon dioxide",
    "carbon dioxide from fermentation": "carbon dioxide",
    "fermentation gas": "carbon dioxide",
    "solvent": "solvent vapour",
    "solvent vapor": "solvent vapour",
    "pinch point": "pinch points",
    "entanglement": "rotating machine",
    "robot": "robot cell",
    "isocyanate": "isocyanate resin",
    "formaldehyde": "formaldehyde resin",
    "heavy lifting": "lifting",
    "manual handling": "lifting",
    "sharp blades": "sharp blade",
    "saw": "sharp blade",
    "knife": "sharp blade",
    "eye injury": "flying particles",
    "forklift": "forklift traffic",
    "falls": "work at height",
    "caustic": "caustic cleaner",
    "acid": "caustic cleaner",
    "steam": "hot liquid",
    "slip": "slippery floor",
    "broken glass": "glass breakage",
    "epoxy resin": "resin skin contact",
    "uv light": "ultraviolet light",
    "sulfur dioxide": "sulphur dioxide",
    "hot surfaces": "hot surface",
    "hot oven": "hot surface",
}


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution for one hazard: its ``hazard`` name, the whole ``text``, and ``where`` in the plan it was named."""

    hazard: str
    text: str
    where: tuple[str, ...] = ()


def hazards() -> tuple[str, ...]:
    """Names of all hazards that bring a caution, in order of the alphabet."""
    return tuple(sorted(_HAZARDS))


def hazard_named(name: str) -> str | None:
    """The hazard that ``name`` means, however it is spelt; None where it is not known.

    >>> hazard_named("Hot_Press"), hazard_named("CO2"), hazard_named("dragons")
    ('hot press', 'carbon dioxide', None)
    """
    word = " ".join(name.replace("_", " ").replace("-", " ").split()).casefold()
    word = _ALSO.get(word, word)
    return word if word in _HAZARDS else None


def caution(name: str, where: Iterable[str] = ()) -> Caution:
    """The caution for hazard ``name``; a name that is not known still gets one, which says that it is not known.

    >>> caution("noise").text.endswith("decide before work starts.")
    True
    """
    hazard = hazard_named(name)
    if hazard is None:
        text = (
            f'The plan names the hazard "{name}", for which no caution is written here. Ask what it can do to people.'
        )
        return Caution(name, f"{text} {DEFER}", tuple(where))
    return Caution(hazard, f"{_HAZARDS[hazard]} {DEFER}", tuple(where))


def cautions(named: Iterable[tuple[str, str]]) -> tuple[Caution, ...]:
    """One caution for each hazard out of pairs (hazard name, where it was named), in order of first naming.

    >>> [(c.hazard, c.where) for c in cautions([("noise", "mill"), ("Noise", "saw"), ("noise", "mill")])]
    [('noise', ('mill', 'saw'))]
    """
    places: dict[str, dict[str, None]] = {}
    for name, where in named:
        places.setdefault(hazard_named(name) or name, {})[where] = None
    return tuple(caution(hazard, where) for hazard, where in places.items())


def unknown_hazard(name: str, path: str) -> Problem | None:
    """A problem at ``path`` where no caution is known for ``name``, hinting at the nearest; None where one is."""
    if hazard_named(name) is not None:
        return None
    return Problem(
        path,
        "no caution is written for this hazard",
        value=f'"{name}"',
        expected="a known hazard",
        hint=did_you_mean(name, (*_HAZARDS, *_ALSO)),
    )

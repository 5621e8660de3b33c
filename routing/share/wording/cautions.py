"""The usual cautions, shown with every round: one place for their wording, each with where it comes from.

They defer to the label, the inspector and the law where the farm is; they are reminders, not advice.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Usual:
    """One caution that holds for every round, with `{number}` for the number to call."""

    text: str
    instead_of: str = ""
    """The caution of job kinds that it says in full, so that this need not stand beside it; empty for none."""


USUAL = (
    # Source: HSE leaflet INDG73 (lone work is allowed, but must be assessed and contact kept), read in a summary.
    # Leaving the route and times with someone: principle in trainers' guidance, else common practice, no source.
    Usual(
        text=(
            "Working alone: leave this round and its times with someone, call in at the times listed, agree what they "
            "do when a call is late, and keep the phone on you. Look up beforehand where there is no signal."
        ),
        instead_of=(
            "Working alone: leave the round and its times with someone, call in as listed, and agree what they do "
            "when you do not call."
        ),
    ),
    # Source: NHS text on anaphylaxis as reprinted by Meridian Beekeepers, October 2020: call, say anaphylaxis, lie
    # flat unless breathing is hard, unconscious or pregnant, sting out, auto-injector, second one after 5 to 15
    # minutes. Hospital always afterwards: BBKA archive. The map reference and access point written down: advice of
    # several beekeepers' associations. Two injectors carried at all times by whoever has been prescribed one: MHRA,
    # May 2014 and June 2023, as told by medicines.necsu.nhs.uk and bridgewatersurgeries.nhs.uk; the doctor decides.
    Usual(
        text=(
            "Stings: wear a veil, keep the phone on you and know the signs: trouble with breathing, swelling of face "
            "or throat, faintness. If they come, call {number} at once, say "
            '"anaphylaxis" and where you are (keep the map reference and the way in for each site with '
            "you), use the auto-injector if there is one, get the sting out, lie flat unless breathing is hard "
            "or the person is unconscious or pregnant. Go to hospital even when it gets better. Whoever is known to "
            "be allergic: ask the doctor about carrying two injectors, and about work with bees at all."
        ),
        instead_of=(
            "Stings: wear a veil, carry the phone on you and know the signs of anaphylaxis. If they come, call the "
            "emergency number at once, say anaphylaxis, use the auto-injector if there is one, and go to hospital "
            "even if better."
        ),
    ),
    # Source: Road Traffic Act 1988 section 41B and DVSA practice as told by a weighbridge firm (each axle's plate
    # counts as well as the gross); a van of 3.5 t that had 490 kg of payload, Smith Bowyer Clarke, August 2022.
    Usual(
        text=(
            "Load: the plate on the vehicle is the limit, for each axle as well as in all, and the driver answers for "
            "it in law. Weigh a loaded vehicle once; strap the load down."
        ),
        instead_of=(
            "Overloading: weigh or reckon the load against the vehicle's plate, each axle too. The driver answers "
            "for it in law."
        ),
    ),
    # Source: HSE L23 and INDG143 filter values as quoted by trainers; a filter for thought, not a limit.
    Usual(
        text=(
            "Lifting: a full super or a hive is more than most people should lift from the ground or above the "
            "shoulder. Lift close, share the weight, use a barrow or lift frame by frame, and follow local guidance "
            "on handling."
        ),
        instead_of=(
            "Lifting: a full super or a hive is more than most people should lift from the ground or above the "
            "shoulder. Lift close, share the weight or use a barrow, and follow local guidance on handling."
        ),
    ),
    # Source: The Highway Code, rule 91: at least 15 minutes for every two hours of driving; avoid driving from
    # midnight to six. Great Britain's domestic rules for goods vehicles, gov.uk: 10 hours of driving a day, and on
    # duty 11 on a day of driving, with exemptions; hours off the public road count as duty. Northern Ireland and
    # other countries have their own.
    Usual(
        "Driving: rest at least 15 minutes in every two hours at the wheel. Sleepy: stop; on the way home a day's "
        "work is behind you. The law limits hours at the wheel and on duty (for goods vehicles in Great Britain "
        "mostly 10 and 11 a day). The breaks and times in this round are not a count of them: look them up where "
        "you are."
    ),
    # Source: common practice, no source; to leave gates as they are found: The Countryside Code (from memory).
    Usual(
        "Livestock and gates: leave each gate as you found it, unless its owner asked otherwise. Keep clear of "
        "cattle with calves and of bulls, do not walk between them, and tell the owner of broken fences."
    ),
    # Source: Veterinary Medicines Directorate notice (use to label); records of medicines under the Veterinary
    # Medicines Regulations 2013.
    Usual("Medicines and acids: the product's label and the law where you are come before this plan."),
    # Source: S.I. 2006/342 (notifiable in England: American and European foulbrood, small hive beetle, Tropilaelaps
    # mites; standstill notices), the like for Wales, others in Scotland and Northern Ireland: National Bee Unit,
    # Statutory procedures (docplayer.net/26770487). Hornets: hertsbees.org.uk (Non-Native Species Secretariat).
    Usual(
        text=(
            "Notifiable pests and diseases: American and European foulbrood, small hive beetle and Tropilaelaps mites "
            "in England and Wales; the law where you are may name others. On suspicion close the hive, move nothing "
            "off the site, clean what you used and call the bee inspector (in England and Wales the National Bee "
            "Unit), who decides. Do suspect sites last. An Asian hornet is told with a photograph to the Non-Native "
            "Species Secretariat in Great Britain, elsewhere to whoever the law there names."
        ),
        instead_of=(
            "Disease: if you suspect a notifiable disease, close the hive, clean tools, move nothing off the site "
            "and call the bee inspector. Do suspect sites last."
        ),
    ),
)


def safety_cautions(emergency_number: str) -> tuple[str, ...]:
    """Return the cautions that hold for every round, a short paragraph each, with the number to call in them."""
    return tuple(usual.text.replace("{number}", emergency_number) for usual in USUAL)


def usual_wording(text: str, emergency_number: str) -> str:
    """Return the usual caution that says a job's caution in full, or else the job's own text as it is."""
    found = (usual.text for usual in USUAL if usual.instead_of == text)
    return next((words.replace("{number}", emergency_number) for words in found), text)

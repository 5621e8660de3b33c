"""Answers on the terminal: what prints any of them, imported when it is first asked for, as `terminal.print_round`."""

from typing import TYPE_CHECKING

from routing.lazily import things_of

if TYPE_CHECKING:
    from routing.share.report.done_words import print_done as print_done
    from routing.share.terminal.chance import ChanceRow as ChanceRow
    from routing.share.terminal.chance import CrewChance as CrewChance
    from routing.share.terminal.chance import LearnedRow as LearnedRow
    from routing.share.terminal.chance import print_chances as print_chances
    from routing.share.terminal.chance import print_learned as print_learned
    from routing.share.terminal.explain import print_site as print_site
    from routing.share.terminal.kinds import print_kinds as print_kinds
    from routing.share.terminal.light import light_rows as light_rows
    from routing.share.terminal.light import light_table as light_table
    from routing.share.terminal.season_terminal import print_due as print_due
    from routing.share.terminal.season_terminal import print_feed as print_feed
    from routing.share.terminal.season_terminal import print_lines as print_lines
    from routing.share.terminal.season_terminal import print_log as print_log
    from routing.share.terminal.terminal import print_broken as print_broken
    from routing.share.terminal.terminal import print_fit as print_fit
    from routing.share.terminal.terminal import print_round as print_round
    from routing.share.wording.beside import beside_lines as beside_lines
    from routing.share.wording.brief import print_brief as print_brief
    from routing.share.wording.differences import print_difference as print_difference
    from routing.share.wording.differences import print_table as print_table
    from routing.share.wording.log_lines import entry_line as entry_line
    from routing.share.wording.turns import print_turns as print_turns

_WHERE = {
    **dict.fromkeys(("print_done",), "routing.share.report.done_words"),
    **dict.fromkeys(
        ("ChanceRow", "CrewChance", "LearnedRow", "print_chances", "print_learned"), "routing.share.terminal.chance"
    ),
    **dict.fromkeys(("print_site",), "routing.share.terminal.explain"),
    **dict.fromkeys(("print_kinds",), "routing.share.terminal.kinds"),
    **dict.fromkeys(("light_rows", "light_table"), "routing.share.terminal.light"),
    **dict.fromkeys(("print_due", "print_feed", "print_lines", "print_log"), "routing.share.terminal.season_terminal"),
    **dict.fromkeys(("print_broken", "print_fit", "print_round"), "routing.share.terminal.terminal"),
    **dict.fromkeys(("beside_lines",), "routing.share.wording.beside"),
    **dict.fromkeys(("print_brief",), "routing.share.wording.brief"),
    **dict.fromkeys(("print_difference", "print_table"), "routing.share.wording.differences"),
    **dict.fromkeys(("entry_line",), "routing.share.wording.log_lines"),
    **dict.fromkeys(("print_turns",), "routing.share.wording.turns"),
}
__getattr__ = things_of(__name__, _WHERE)

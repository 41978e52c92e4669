"""The quantities that operations are timed by: a name for files, words and a unit for people."""

from enum import StrEnum

__all__ = ["Driver"]


class Driver(StrEnum):
    """A driver of labour, counted or measured over the whole garment. Values are the names in the table of minutes."""

    JOB = "job"
    NEW_PATTERN = "new_pattern"
    KEPT_PATTERN = "kept_pattern"
    NEW_PANEL = "new_panel"
    TOILE_PIECE = "toile_piece"
    TOILE_SEAM = "toile_seam"
    TOILE_STITCH = "toile_stitch"
    FITTING = "fitting"
    CLOTH = "cloth"
    PIECE = "piece"
    FLATLINED_PAIR = "flatlined_pair"
    SEAM = "seam"
    SEAM_METRE = "seam_metre"
    FIRST_PASS = "first_pass"
    FIRST_PASS_STITCH = "first_pass_stitch"
    SECOND_PASS = "second_pass"
    SECOND_PASS_STITCH = "second_pass_stitch"
    TAPE_SEAM_LINE = "tape_seam_line"
    BUSK = "busk"
    BUSK_PART = "busk_part"
    ZIP = "zip"
    JOIN_SEAM_LINE = "join_seam_line"
    CHANNEL_LINE = "channel_line"
    CHANNEL_STITCH = "channel_stitch"
    CASING = "casing"
    GROMMET_SIDE = "grommet_side"
    GROMMET_LINE = "grommet_line"
    GROMMET_LINE_STITCH = "grommet_line_stitch"
    CUT_BONE = "cut_bone"
    TIPPED_BONE = "tipped_bone"
    ROUNDED_BONE = "rounded_bone"
    PRECUT_BONE = "precut_bone"
    CUT_FLAT = "cut_flat"
    BONE = "bone"
    GROMMET_SET = "grommet_set"
    BIAS_METRE = "bias_metre"
    BINDING_EDGE = "binding_edge"
    BINDING_METRE = "binding_metre"
    BINDING_END = "binding_end"
    FLOSSED_END = "flossed_end"
    MODESTY_PANEL = "modesty_panel"

    @property
    def words(self) -> str:
        """What is counted, as people say it, in the plural."""
        return _WORDS.get(self, f"{self.value.replace('_', ' ')}s")


_WORDS = {
    Driver.JOB: "job",
    Driver.NEW_PATTERN: "pattern drafted",
    Driver.KEPT_PATTERN: "kept pattern checked",
    Driver.NEW_PANEL: "panels per half",
    Driver.TOILE_STITCH: "toile stitches",
    Driver.FLATLINED_PAIR: "pairs of pieces",
    Driver.SEAM_METRE: "m of seam",
    Driver.FIRST_PASS: "first passes",
    Driver.FIRST_PASS_STITCH: "stitches",
    Driver.SECOND_PASS: "second passes",
    Driver.SECOND_PASS_STITCH: "stitches",
    Driver.TAPE_SEAM_LINE: "seam lines crossed",
    Driver.BUSK: "busk",
    Driver.BUSK_PART: "loops and posts",
    Driver.ZIP: "zip",
    Driver.JOIN_SEAM_LINE: "seam lines joined",
    Driver.CHANNEL_STITCH: "stitches",
    Driver.GROMMET_SIDE: "sides",
    Driver.GROMMET_LINE: "lines",
    Driver.GROMMET_LINE_STITCH: "stitches",
    Driver.CUT_BONE: "bones cut and tipped",
    Driver.TIPPED_BONE: "raw bones tipped",
    Driver.ROUNDED_BONE: "bones cut with shears and rounded",
    Driver.PRECUT_BONE: "pre-cut bones",
    Driver.CUT_FLAT: "flats cut, filed and tipped",
    Driver.BIAS_METRE: "m of bias",
    Driver.BINDING_EDGE: "edges",
    Driver.BINDING_METRE: "m of binding",
    Driver.BINDING_END: "ends",
    Driver.FLOSSED_END: "bone ends",
    Driver.MODESTY_PANEL: "modesty panel",
}

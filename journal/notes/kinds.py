"""The one table of slip kinds and their keys: the parser reads it, the README's reference is made from it."""

from __future__ import annotations

import re
from typing import Literal

from journal.ground.names import fold, tidy
from journal.ground.records import record

# What a yes-or-no key takes; `says_yes` is how everything that reads one asks.
YES = frozenset(("yes", "y", "true", "on", "ja", "oui"))
NO = frozenset(("no", "n", "none", "false", "off", "nein", "non"))

# Words that begin a value which records nothing (`no. 3` does): there is none, or it is still to be made.
NOTHING = re.compile(
    r"(?:no|none|nope|not|nothing|nowhere|never|nil|lost|missing|n/a|tb[acd]|todo|to (?:be|do|make|mark|check|follow)|"
    r"(?:could|did|has|have|had|was|were|should)(?: not|n'?t)|needs?|will(?! has)|should|must|wants?|ought|maybe|"
    r"if (?:i|we|there)|ask|on the list|either way|any way|do (?:it|this|before|when|on)|make (?:one|it|an?|some|from)|"
    r"check (?:it|this|before|first|when|with|again))\b(?!\.? ?\d)|(?:either|any|later|pending|started)?[-–—. ]*$"
)
# Words that take back what was recorded, anywhere in a value.
UNSURE = re.compile(
    r"\?|\b(?:unknown|unclear|unsure|uncertain|not (?:sure|certain|known|clear|noted|found|seen|traced|made|recorded)|"
    r"cannot|can not|can't|forgot|forgotten|no idea|maybe|perhaps|possibly|probably|presumably|in doubt|doubtful|"
    r"i (?:think|guess|suppose|believe)|a guess|guessed|tb[acd]|todo|wherever|(?:needs?|have|still) to check)\b"
)
# Words that say at the beginning of a clause that it is there no longer, or not yet: `paint line (gone now)`, though
# not `two dots, paint worn off round them`.
GONE = re.compile(
    r"(?:^|[,;:(]|\s[-–—]|\b(?:but|since|now|all|both|was|were|is|are|has|have|got|been)\b)\s*(?:"
    r"(?:gone|lost|missing)(?! (?:an?|one|two|the|its|\d+)\b)|ruined|binned|destroyed|illegible|faded|swept|wiped|"
    r"unfinished|half (?:done|made|finished)|"
    r"(?:rubbed|washed|worn|wiped|ground|brushed|burnt|burned|blasted|scraped|sanded|peeled|flaked|come|came|swept|"
    r"thrown|chucked) (?:off|away|out))\b"
)

Shape = Literal["words", "names", "list", "photos", "date", "yes", "count", "choice", "line"]
About = Literal["part", "photo", "job", "order", "none"]


@record
class Key:
    """A key a slip may hold.

    says      one line: what to write behind it
    shape     how its value is read: "words" as they stand; "names" of parts; a "list" of pieces; "photos";
              a "date" or words; "yes" (or no); a "count"; a "choice" of `choices`; a dimension "line"
    adds_up   may stand more than once; any other key twice is a finding
    private   its value is shown in the shop edition only
    """

    name: str
    says: str
    shape: Shape = "words"
    adds_up: bool = False
    private: bool = False
    choices: tuple[str, ...] = ()


@record
class Kind:
    """A kind of slip: the first word of the info string.

    about     what the rest of the info string names
    also      words people write instead; a slip that begins with one is told the right one
    private   the whole slip is for the shop edition only, and its lines are Markdown
    example   a slip as it may be written, without its fences
    """

    name: str
    says: str
    about: About
    keys: tuple[Key, ...]
    example: str
    also: tuple[str, ...] = ()
    private: bool = False


COMMON = (
    Key(
        "photos", "pictures of it: `IMG_0451, IMG_0452`, `IMG_0451 to IMG_0455`", "photos", adds_up=True
    ),
    Key("note", "anything else worth keeping; so is a line that begins with no key", adds_up=True),
    Key("private", "`yes` keeps the whole slip out of the public edition", "yes"),
    Key("caution", "a danger to tell, in your own words", adds_up=True),
    Key("settled", "`WORD, why` ends a finding of that word about the part for good", adds_up=True),
)

FROM = Key("from", "the part it is fixed to (several, if it bridges them)", "names")
ON = Key("on", "the part it is fixed to", "names")
FACE = Key("face", "which face of the host it sits against; `round` for a tube or shaft")
PLACE = Key("place", "where on the machine, as `underside / left sill`")
HELD_BY = Key("held by", "count, size and kind of what holds it, and `at` where", adds_up=True)
LOCATED_BY = Key(
    "located by",
    "what gives its place, where `held by` does not tell",
    "choice",
    choices=("measurement", "adjustment", "fit", "own holes", "route"),
)
BEHIND = Key("behind", "parts that must come off before it", "names", adds_up=True)
COUNT = Key("count", "how many there are, as a number", "count")
MARKS = Key("marks", "match marks (scribed line, punch dots, paint across the joint) and where")
SHIMS = Key("shims", "how many, how thick, where", adds_up=True)
ROUTE = Key("route", "the way of a hose, pipe or cable: `from A, over B, through C, to D`")
CONNECTS = Key("connects", "one end or pin and what it goes to", adds_up=True)

KINDS: tuple[Kind, ...] = (
    Kind(
        "part",
        "what a part is",
        "part",
        (
            FROM,
            FACE,
            PLACE,
            HELD_BY,
            LOCATED_BY,
            Key("opposite", "its twin on the other side", "names"),
            BEHIND,
            Key("features", "its own holes, edges and faces, as `hole 1, hole 2, foot`", "list"),
            Key("number", "the maker's number"),
            COUNT,
            Key("also called", "other names for it", "list"),
            Key("going", "when it will be cut out or scrapped: a date or words", "date"),
            Key("goes on", "where it goes back on", "choice", choices=("bench", "machine")),
            MARKS,
            SHIMS,
            ROUTE,
            CONNECTS,
            Key("stands off", "how far it stands clear of the face, and on what"),
            Key("safety", "`yes`, or why, for a brake, steering, fuel, lifting or structural part"),
        ),
        "part hinge upper, left\n"
        "from: door post, left\n"
        "held by: 4 screws 1/4 in\n"
        "opposite: hinge upper, right\n"
        "features: leaf, knuckle, hole 1, hole 2",
    ),
    Kind(
        "removed",
        "a part taken off",
        "part",
        (
            FROM,
            PLACE,
            FACE,
            COUNT,
            HELD_BY,
            LOCATED_BY,
            Key("way round", "which way it sits, as `foot to the front, bend upwards`"),
            Key("stored", "where it lies now", private=True),
            Key("template", "a traced or cut pattern of it, and where that is"),
            MARKS,
            SHIMS,
            ROUTE,
            CONNECTS,
            BEHIND,
            Key("doubt", "as found, but bent or moved before"),
        ),
        "removed guide bracket front, left\n"
        "from: sill, left\n"
        "held by: 2 spot welds\n"
        "way round: upright to the rear, foot to the front\n"
        "stored: tin 4\n"
        "hole edge to web: 5/8 in by rule\n"
        "hole ahead of rear end: 1580 mm ± 2 by tape\n"
        "upright square to web by square",
        also=("taken", "took", "off", "dismantled", "stripped", "removal"),
    ),
    Kind(
        "measured",
        "readings of a part: on the machine, on the bench, on the new panel",
        "part",
        (Key("on", "the part that the readings are taken from", "names"),),
        "measured guide bracket front, left\n"
        "on: sill, left\n"
        "foot length: 42 mm by calliper\n"
        "hole to rear end: 1580.5 mm by tape",
        also=("measurement", "measurements", "readings", "sizes"),
    ),
    Kind(
        "refitted",
        "the same part back on",
        "part",
        (ON, HELD_BY, Key("moved", "`yes` where it was put elsewhere on purpose", "yes")),
        "refitted guide bracket front, left\n"
        "on: sill, left\n"
        "held by: 2 plug welds\n"
        "hole edge to web: 16 mm by rule",
        also=("fitted", "installed", "reinstalled", "mounted", "refit"),
    ),
    Kind(
        "replaced",
        "a new part has taken its place, under the old one's name",
        "part",
        (
            Key("by", "what the new one is"),
            Key("source", "where it came from"),
            Key("carries", "what the new one has too: features, `own holes`, `all`, `all but X, Y`", "list"),
        ),
        "replaced sill, left\n"
        "by: folded from 1.5 mm sheet\n"
        "carries: rear end, lower flange",
        also=("renewed", "swapped", "exchanged"),
    ),
    Kind(
        "cut",
        "a piece cut away, the rest stays",
        "part",
        (
            Key("away", "features, places and `own holes` gone with it; all of them if not said", "list"),
            Key("why", "why it had to go"),
        ),
        "cut floor edge, right\n"
        "away: rear flange, hole 4\n"
        "why: rusted through",
    ),
    Kind(
        "scrapped",
        "a part gone for good",
        "part",
        (
            Key("why", "why it had to go"),
            Key("not coming back", "`yes` where nothing takes its place", "yes"),
        ),
        "scrapped toe board\n"
        "why: rotten\n"
        "not coming back: yes",
        also=("binned", "dumped"),
    ),
    Kind(
        "treated",
        "cleaned, primed, painted, oiled",
        "part",
        (
            PLACE,
            Key("surface", "what was treated: bare steel, old paint, inside of the box"),
            Key("with", "what with"),
            Key("coats", "how many"),
            Key("next", "what follows and when: words, a date"),
        ),
        "treated sill, left\n"
        "surface: inside of the box\n"
        "with: zinc primer\n"
        "coats: 2\n"
        "next: wax after the last weld, 2026-05-02",
        also=("painted", "primed", "cleaned", "oiled", "greased"),
    ),
    Kind(
        "ordered",
        "bought, not here yet",
        "order",
        (
            Key("for", "the parts or jobs it is bought for", "names"),
            Key("bought from", "who from"),
            Key("due", "when it should come: a date or words", "date"),
            Key("price", "what it cost", private=True),
        ),
        "ordered brake hose kit\n"
        "for: brake hose, left\n"
        "bought from: the hose shop in town\n"
        "due: 2026-04-10",
        also=("bought", "order"),
    ),
    Kind(
        "arrived",
        "what was ordered is here",
        "order",
        (
            Key("for", "the parts or jobs it is bought for", "names"),
            Key("bought from", "who from"),
            Key("due", "when it should have come: a date or words", "date"),
            Key("price", "what it cost", private=True),
        ),
        "arrived brake hose kit\n"
        "note: one banjo washer missing",
        also=("delivered", "received"),
    ),
    Kind(
        "job",
        "work to do",
        "job",
        (
            Key("needs", "parts, orders and jobs that must be there first", "names", adds_up=True),
            Key("before", "jobs that must wait for this one", "names"),
            Key("cuts", "parts it cuts or scraps", "names"),
            PLACE,
            Key("part", "the parts it is about", "names"),
        ),
        "job weld in the sill, left\n"
        "needs: repair section, zinc primer\n"
        "before: paint the underside\n"
        "cuts: sill, left",
        also=("todo", "task"),
    ),
    Kind(
        "done",
        "work done",
        "job",
        (
            Key("needs", "parts, orders and jobs that were needed", "names", adds_up=True),
            Key("before", "jobs that waited for this one", "names"),
            Key("cuts", "parts it cut or scrapped", "names"),
            PLACE,
            Key("part", "the parts it was about", "names"),
        ),
        "done weld in the sill, left\n"
        "note: plug welds at the old spacing",
        also=("finished", "completed"),
    ),
    Kind(
        "photo",
        "about one picture; its file is what follows the kind",
        "photo",
        (
            Key("shows", "the parts in it", "names"),
            Key("off the machine", "`yes` for a picture taken on the bench", "yes"),
            Key("caption", "a line to stand below it"),
            Key(
                "line",
                "`x1,y1 x2,y2 text` draws a dimension line; fractions of the upright picture, or pixels",
                "line",
                adds_up=True,
            ),
        ),
        "photo IMG_0451\n"
        "shows: guide bracket front, left\n"
        "caption: before the sill came out\n"
        "line: 0.32,0.41 0.58,0.41 hole edge to web",
        also=("picture", "image", "pic"),
    ),
    Kind(
        "private",
        "Markdown for the shop edition only",
        "none",
        (),
        "private\n"
        "The key of the shed hangs behind the meter.",
        private=True,
    ),
)

BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}
BY_OTHER_WORD: dict[str, Kind] = {word: kind for kind in KINDS for word in kind.also}

KEYS_OF: dict[str, dict[str, Key]] = {
    kind.name: {key.name: key for key in (*kind.keys, *(() if kind.private else COMMON))} for kind in KINDS
}
"""Kind to its keys by name, the common ones included."""

KINDS_WITH: dict[str, tuple[str, ...]] = {
    name: tuple(kind.name for kind in KINDS if name in KEYS_OF[kind.name])
    for name in dict.fromkeys(key for keys in KEYS_OF.values() for key in keys)
}
"""Key name to the kinds that have it, in the order of the table."""

# Words people put behind a fence for a listing. A block that begins with one is code, never a misspelt slip.
LANGUAGES = frozenset((
    "asm", "awk", "bash", "bat", "batch", "basic", "c", "cmake", "cmd", "console", "cpp", "cs", "csh",
    "csharp", "css", "csv", "cut", "dart", "diff", "docker", "dockerfile", "dot", "gcode", "go", "html",
    "http", "ini", "java", "javascript", "js", "json", "julia", "kotlin", "latex", "less", "lisp", "log",
    "lua", "make", "makefile", "markdown", "matlab", "md", "mermaid", "nginx", "output", "pascal", "perl",
    "php", "plain", "plaintext", "powershell", "ps", "py", "python", "r", "rb", "rs", "ruby", "rust",
    "scala", "scheme", "scss", "sh", "shell", "sql", "svg", "swift", "tex", "text", "toml", "ts",
    "typescript", "txt", "vb", "vim", "xml", "yaml", "yml", "zig", "zsh",
)) - set(BY_NAME)

# Words of the shop that lie within a letter or two of a key and are none.
NOT_KEYS = frozenset((
    "mount", "mounts", "plate", "plates", "plane", "race", "fork", "font", "rubber", "fence",
))


def says_yes(text: str) -> bool:
    """Whether the value of a yes-or-no key says yes; "1" is told as odd by the parser and means yes all the same."""
    said = fold(text.rstrip(" ."))
    return said in YES or said == "1"


def says_no(text: str) -> bool:
    """Whether the value of a yes-or-no key says no; what says neither may be yes."""
    return fold(text.rstrip(" .")) in NO


def says_nothing(text: str) -> bool:
    """Whether words where something was to be recorded say that it was not: `none`, `to do`, `chalk, washed off`.

    Taken the worse way: words that are not sure of it record nothing either.
    """
    words = " ".join(tidy(text).casefold().split())
    return says_no(text) or bool(NOTHING.match(words) or UNSURE.search(words) or GONE.search(words))

"""Explained: findings about what is written, and about the files of a build."""

from __future__ import annotations

from collections.abc import Mapping

from journal.ground.explained import Explained, day

LID = "```removed battery lid\nfrom: frame\nheld by: 2 catches\n{more}```\n"
LISTED = 'title = "Platform truck No. 9"\n\n[private]\nparts = ["{}"]\n'

NOTES: Mapping[str, Explained] = {
    "unknown-name": Explained(
        "A line names a part that no slip has introduced, or a side that is none. A part exists as soon as a "
        "slip's first line, `from:` or `on:` names it; in other lines a new name is more likely a slip of the "
        "thumb. That name is left out, the rest of the line counts. Write the name as it is written elsewhere, or "
        "begin a `part` slip for it. A part that has a left and a right one wants its side: `sill, left`.",
        day(LID.format(more="behind: deck plate frunt\n"), "2026-03-14")
        | day("```part deck plate front\nheld by: 6 screws\n```\n", "2026-03-07"),
        day(LID.format(more="behind: Deck  Plate front\n"), "2026-03-14")
        | day("```part deck plate front\nheld by: 6 screws\n```\n", "2026-03-07"),
    ),
    "said-twice": Explained(
        "A key that counts once stands twice in one slip; the first is taken and the second left out, and they may"
        " not say the same. Keep one line, or put both things into it. Keys that add up may stand as often as you "
        "like: photos, held by, note, connects, behind, needs and shims.",
        day(LID.format(more="stored: on the trestles\nstored: in the rafters\n")),
        day(LID.format(more="held by: 2 screws\nnote: hinge side up\nnote: one screw is missing\n")),
    ),
    "unknown-slip": Explained(
        "A fenced block begins with a word that is nearly a kind of slip, or with several words, and is no kind "
        "that is known. Nothing in it is read, so a part's place may be lost in there. Write one of the kinds: "
        "part, removed, measured, refitted, replaced, cut, scrapped, treated, ordered, arrived, job, done, photo, "
        "private. A block of plain text has no word behind the fence, or one such as `text`.",
        day("```remuved battery lid\nfrom: frame\n```\n"),
        day("```text\nremuved battery lid\n```\n"),
    ),
    "unknown-key": Explained(
        "A line begins with a word that is nearly a key, or that is a key of another kind of slip. It is left out."
        " Write the key as the help gives it. If it is meant as a remark, begin the line with `note:`.",
        day(LID.format(more="stroed: in the rafters\n")),
        day(LID.format(more="mood: good\n")),
    ),
    "not-understood": Explained(
        "A line that was plainly meant to say something could not be read: a value with nothing in it that can be "
        "a value, a reading without its colon, a unit that does not fit. Only that line is lost, the rest of the "
        "slip counts. The message shows what was found, the help what to write.",
        day(LID.format(more="lid length: 12 kg\n")),
        day(LID.format(more="lid length: 612 mm\n")),
    ),
    "no-unit": Explained(
        "A number stands without its unit. Next to readings in inches a bare 22 may be millimetres, and nobody "
        "knows any more in three months. Write the unit after it: `22 mm`, `7/8 in`. If all your bare numbers are "
        'millimetres, say it once in build.toml: `bare = "mm"`.',
        day(LID.format(more="lid length: 612\n")),
        day(LID.format(more="lid length: 612\n")) | {"build.toml": 'title = "Platform truck No. 9"\nbare = "mm"\n'},
    ),
    "ambiguous-value": Explained(
        "The value can be read in two ways that are far apart: `5/8-1 in` is a range to some and one and five "
        "eighths to others, `31/2 in` is 3 1/2 in to most and 15 1/2 in to the letter, `1,250` is a thousand to some "
        "and a little over one to others. It counts as no reading until it is clear. The message shows what it can "
        "be; write the one you mean, such as `5/8 to 1 in` or `1 5/8 in`.",
        day(LID.format(more="lid depth: 5/8-1 in\n")),
        day(LID.format(more="lid depth: 1-5/8 in\n")),
    ),
    "unclosed-slip": Explained(
        "A slip has no closing fence, so in any Markdown viewer the rest of the day stands in a grey box. It was "
        "read as far as it plainly goes. Put a line with three backticks after its last line.",
        day("```removed battery lid\nfrom: frame\nheld by: 2 catches\n\nThen it began to rain and I went in.\n"),
        day("```removed battery lid\nfrom: frame\nheld by: 2 catches\n```\n\nThen it began to rain and I went in.\n"),
    ),
    "missing-photo": Explained(
        "A slip or the story names a picture that is not in this day: it is still on the phone, lies in another day's "
        "folder, or a digit is wrong. Copy it here before the phone is cleared. A picture of another day is named with "
        "that day: `2026-03-14/IMG_0421`. Capitals and endings do not matter, unless they tell two pictures apart.",
        day(LID.format(more="photos: IMG_0415\n")) | {"2026-03-21 left sill/IMG_0451.jpg": "a picture"},
        day(LID.format(more="photos: img_0451.JPG\n")) | {"2026-03-21 left sill/IMG_0451.jpg": "a picture"},
    ),
    "unreadable-photo": Explained(
        "A picture cannot be opened: it was cut off while copying, is empty, or is no picture. Its name is shown "
        "on the page in its place. Copy it off the phone or card again as long as it is there.",
        day(LID.format(more="photos: IMG_0451\n")) | {"2026-03-21 left sill/IMG_0451.jpg": "half a download"},
        day(LID.format(more="photos: IMG_0451\n")) | {"2026-03-21 left sill/IMG_0451.jpg": "a picture"},
    ),
    "photo-date-differs": Explained(
        "The camera says that a picture was taken on another day than its folder. It shows up under the folder's "
        "day all the same. Move it if it belongs to the other day; leave it if the camera's clock was wrong, or if"
        " you took it late at night and count it to the day before.",
        day("A picture at last.\n") | {"2026-03-21 left sill/IMG_0451.jpg": "a picture taken 2026-03-20"},
        day("A picture at last.\n") | {"2026-03-21 left sill/IMG_0451.jpg": "a picture taken 2026-03-21"},
    ),
    "bad-day-name": Explained(
        "A folder's name begins like a date and is none, so nothing in it is read: no note, no picture. Name it "
        "year, month, day, with two digits for month and day, then any words: `2026-03-21 left sill`. Folders that"
        " do not begin with a digit are left alone and may hold manuals and receipts.",
        day("A good day.\n", "2026-3-21 left sill"),
        day("A good day.\n", "2026-03-21 left sill") | {"manuals/note.md": "Brindle & Tarn, parts list\n"},
    ),
    "not-utf8": Explained(
        "The note, or build.toml, is not saved as UTF-8, the way nearly everything is saved today, so letters with "
        "accents and signs such as ± and ½ may have turned into others. What is not UTF-8 was read as old Windows "
        "programs write it. Open it in the editor and save it again with the encoding UTF-8. (The example is saved as "
        "Windows-1252.)",
        day("Petrol from the café on the corner.\n"),
        day("Petrol from the café on the corner.\n"),
        encoding="cp1252",
    ),
    "unknown-setting": Explained(
        "A key of build.toml is not known, or holds something it cannot hold, so it does nothing. The nearest key "
        "is named. Every key is optional but the title.",
        {"build.toml": 'title = "Platform truck No. 9"\nauthr = "M. Tarn"\n'},
        {"build.toml": 'title = "Platform truck No. 9"\nauthor = "M. Tarn"\n'},
    ),
    "unknown-private": Explained(
        "A day, place, part or picture that build.toml lists under [private] is not there under that name, so what it "
        "is meant for would be published whole. No public edition is made until the entry is put right or taken out. "
        "Write it as the notes do: a part as `lamp bracket, left`, a place as `cab / dash`, a day as `2026-03-08`, a "
        "picture by its name. What is still to come can be listed once a note has it, or a place once [places] has it.",
        {"build.toml": LISTED.format("batery lid")} | day(LID.format(more="")),
        {"build.toml": LISTED.format("the Battery  lid")} | day(LID.format(more="")),
    ),
}

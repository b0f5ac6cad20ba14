"""Single changes of the page and its pictures."""

from __future__ import annotations

import base64
import re
from random import Random

from tampers import PAGE, Files, change

_PICTURE = re.compile(r'(src="data:image/svg\+xml;base64,)([^"]+)"')


def _page(files: Files) -> tuple[str, str]:
    """The page before and after the place where its body begins to speak."""
    return files[PAGE].decode(), "<main>"


def _insert(files: Files, at: int, text: str) -> None:
    page = files[PAGE].decode()
    files[PAGE] = (page[:at] + text + page[at:]).encode()


def _tags(
    files: Files, pattern: str = r"<(?:p|h1|h2|h3|td|th|tr|table|section|figure|img|dd|body|li)\b"
) -> list[re.Match]:
    return list(re.finditer(pattern, files[PAGE].decode()))


def _texts(files: Files) -> list[re.Match]:
    page = files[PAGE].decode()
    start = page.index("<body>")
    return [m for m in re.finditer(r">([^<>]*\w[^<>]*)<", page) if m.start() > start]


@change("page")
def a_rule_of_style(files: Files, rng: Random) -> str:
    rule = rng.choice(
        [
            "td{display:none}",
            "strong{color:transparent}",
            "p::after{content:' meets'}",
            "ul{display:none}",
            "@import url(//x.example/a.css);",
            "h2{position:absolute;left:-999px}",
            "@media print{table{display:none}}",
            "td:nth-child(4)::before{content:'1.9'}",
        ]
    )
    _insert(files, files[PAGE].decode().index("</style>"), rule + " " * rng.randrange(3))
    return rule


@change("page")
def a_style_of_one_element(files: Files, rng: Random) -> str:
    tag = rng.choice(_tags(files))
    how = rng.choice(
        ["display:none", "opacity:0", "font-size:0", "visibility:hidden", "color:#fff"]
    )
    _insert(files, tag.end(), f' style="{how}"')
    return how


@change("page")
def an_attribute_that_runs(files: Files, rng: Random) -> str:
    tag = rng.choice(_tags(files))
    name = rng.choice(["onload", "onclick", "onmouseover", "onerror", "onfocus"])
    _insert(files, tag.end(), f" {name}=\"document.title='meets'\"")
    return name


@change("page")
def an_element_that_runs_or_fetches(files: Files, rng: Random) -> str:
    text = rng.choice(
        [
            "<script>document.body.innerHTML='meets'</script>",
            "<iframe srcdoc='meets'></iframe>",
            "<object data='x.svg'></object>",
            "<embed src='x'>",
            "<link rel=stylesheet href=x.css>",
            "<meta http-equiv=refresh content='0;url=x.html'>",
            "<base href='//x.example/'>",
            "<template>x</template>",
            "<svg><script>1</script></svg>",
        ]
    )
    _insert(files, rng.choice(_tags(files)).start(), text)
    return text


@change("page")
def a_thing_laid_over(files: Files, rng: Random) -> str:
    text = f"<div style='position:fixed;top:{rng.randrange(900)}px;background:#fff'>meets</div>"
    _insert(files, rng.choice(_tags(files)).start(), text)
    return text


@change("page")
def a_form(files: Files, rng: Random) -> str:
    text = rng.choice(
        ["<input value='2.99'>", "<textarea>meets</textarea>", "<select><option>meets</select>"]
    )
    _insert(files, rng.choice(_tags(files)).start(), text)
    return text


@change("page")
def a_comment(files: Files, rng: Random) -> str:
    _insert(files, rng.choice(_tags(files)).start(), f"<!-- {rng.random()} -->")
    return "comment"


@change("page")
def a_value_of_an_attribute(files: Files, rng: Random) -> str:
    page = re.sub(r"base64,[A-Za-z0-9+/=]*", lambda m: " " * len(m.group()), files[PAGE].decode())
    found = [m for m in re.finditer(r'="([^"]+)"', page) if m[1].strip()]
    spot = rng.choice(found)
    at = rng.randrange(spot.start(1), spot.end(1))
    whole = files[PAGE].decode()
    sign = "x" if whole[at] != "x" else "y"
    if page[at] == " ":
        at = spot.start(1)
        sign = "q"
    files[PAGE] = (whole[:at] + sign + whole[at + 1 :]).encode()
    return f"{spot[0][:40]} {sign}"


@change("page")
def a_letter(files: Files, rng: Random) -> str:
    spot = rng.choice(_texts(files))
    page = files[PAGE].decode()
    places = [i for i in range(spot.start(1), spot.end(1)) if page[i].isalpha()]
    if not places:
        return a_digit(files, rng)
    at = rng.choice(places)
    sign = "e" if page[at] != "e" else "a"
    files[PAGE] = (page[:at] + sign + page[at + 1 :]).encode()
    return f"{spot[1][:40]!r} at {at}"


@change("page")
def a_digit(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    spots = [m for m in _texts(files) if re.search(r"\d", m[1])]
    spot = rng.choice(spots)
    at = rng.choice([i for i in range(spot.start(1), spot.end(1)) if page[i].isdigit()])
    digit = str((int(page[at]) + rng.choice([1, 9, 5])) % 10)
    files[PAGE] = (page[:at] + digit + page[at + 1 :]).encode()
    return f"{spot[1][:40]!r}: {page[at]} becomes {digit}"


@change("page")
def cells_that_changed_places(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    cells = list(re.finditer(r"<td[^>]*>([^<]*)</td>", page))
    while True:
        a, b = sorted(rng.sample(cells, 2), key=lambda m: m.start())
        if a[1] != b[1]:
            break
    files[PAGE] = (
        page[: a.start(1)] + b[1] + page[a.end(1) : b.start(1)] + a[1] + page[b.end(1) :]
    ).encode()
    return f"{a[1]!r} and {b[1]!r}"


@change("page")
def a_piece_left_out_or_twice(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    pattern = rng.choice(
        [r"<tr>.*?</tr>", r"<p>.*?</p>", r"<figure.*?</figure>", r"<li>.*?</li>", r"<h2.*?</h2>"]
    )
    spot = rng.choice(list(re.finditer(pattern, page, re.S)))
    twice = rng.random() < 0.4
    files[PAGE] = (page[: spot.start()] + spot[0] * (2 * twice) + page[spot.end() :]).encode()
    return f"{pattern} {'twice' if twice else 'left out'}"


@change("page")
def signs_nobody_sees(files: Files, rng: Random) -> str:
    spot = rng.choice(_texts(files))
    sign = rng.choice(["\u200b", "\u202e", "\u2066", "\xa0", "&#8203;", " ", "\n"])
    _insert(files, rng.randrange(spot.start(1), spot.end(1) + 1), sign)
    return repr(sign)


@change("page")
def a_sign_written_otherwise(files: Files, rng: Random) -> str:
    spot = rng.choice(_texts(files))
    page = files[PAGE].decode()
    at = next(i for i in range(spot.start(1), spot.end(1)) if page[i].isalnum())
    files[PAGE] = (page[:at] + f"&#{ord(page[at])};" + page[at + 1 :]).encode()
    return page[at]


@change("page")
def any_byte(files: Files, rng: Random) -> str:
    data = files[PAGE]
    # Outside the data of pictures, of which a thousandth of a point is nothing.
    bare = re.sub(rb"(?<=base64,)[A-Za-z0-9+/=]*", lambda m: b"\0" * len(m.group()), data)
    at = rng.choice([i for i, byte in enumerate(bare) if byte])
    files[PAGE] = data[:at] + bytes([data[at] ^ rng.choice([1, 2, 32, 128])]) + data[at + 1 :]
    return f"byte {at}"


@change("page")
def its_ends(files: Files, rng: Random) -> str:
    how = rng.randrange(4)
    data = files[PAGE]
    files[PAGE] = [
        data + b"<p>x</p>",
        data[: -rng.randrange(2, 400)],
        b"\xef\xbb\xbf" + data,
        data + b"\n",
    ][how]
    return str(how)


def _with_picture(files: Files, number: int, svg: str) -> None:
    page = files[PAGE].decode()
    spot = list(_PICTURE.finditer(page))[number]
    data = base64.b64encode(svg.encode()).decode()
    files[PAGE] = (page[: spot.start(2)] + data + page[spot.end(2) :]).encode()


def _pictures(files: Files) -> list[str]:
    return [base64.b64decode(m[2]).decode() for m in _PICTURE.finditer(files[PAGE].decode())]


@change("picture")
def what_no_picture_holds(files: Files, rng: Random) -> str:
    shown = _pictures(files)
    number = rng.randrange(len(shown))
    text = rng.choice(
        [
            "<script>1</script>",
            "<text x='9' y='9'>meets</text>",
            "<foreignObject><p>meets</p></foreignObject>",
            "<a xlink:href='//x.example'><rect/></a>",
            "<animate attributeName='x' to='9'/>",
            "<image xlink:href='//x.example/a.png'/>",
            "<use xlink:href='x.svg#a'/>",
            "<set attributeName='opacity' to='0'/>",
            "<style>*{opacity:0}</style>",
            "<rect onload='x()'/>",
            "<filter id='f'/>",
            "<g style='fill:url(//x.example/a)'/>",
            "meets &lt;",
        ]
    )
    at = shown[number].rindex("</svg>")
    _with_picture(files, number, shown[number][:at] + text + shown[number][at:])
    return text


@change("picture")
def dots_and_lines_moved(files: Files, rng: Random) -> str:
    shown = _pictures(files)
    number = rng.randrange(len(shown))
    spots = list(re.finditer(r'<use [^>]*?x="(-?[\d.]+)"', shown[number]))
    spot = rng.choice(spots)
    by = rng.choice([0.5, 3.0, -2.0, 40.0])
    svg = shown[number]
    moved = f"{float(spot[1]) + by:.6f}"
    _with_picture(files, number, svg[: spot.start(1)] + moved + svg[spot.end(1) :])
    return f"picture {number} by {by}"


@change("picture")
def a_colour_or_a_stroke(files: Files, rng: Random) -> str:
    shown = _pictures(files)
    number = rng.randrange(len(shown))
    svg = shown[number]
    spot = rng.choice(list(re.finditer(r"#[0-9a-f]{6}", svg)))
    other = "#ffffff" if spot[0] != "#ffffff" else "#000000"
    _with_picture(files, number, svg[: spot.start()] + other + svg[spot.end() :])
    return f"picture {number}: {spot[0]}"


@change("picture")
def changed_places_or_gone(files: Files, rng: Random) -> str:
    page = files[PAGE].decode()
    spots = list(_PICTURE.finditer(page))
    how = rng.randrange(4)
    a, b = sorted(rng.sample(spots, 2), key=lambda m: m.start())
    if how == 0:
        page = page[: a.start(2)] + b[2] + page[a.end(2) : b.start(2)] + a[2] + page[b.end(2) :]
    elif how == 1:
        page = re.sub(
            r"<figure>(?:(?!</figure>).)*" + re.escape(a[2][:200]) + ".*?</figure>",
            "",
            page,
            flags=re.S,
        )
    elif how == 2:
        page = page[: a.start(2)] + a[2][:60] + "\n" + a[2][60:] + page[a.end(2) :]
    else:
        page = (
            page[: a.start(1)]
            + page[a.start(1) : a.end(1)].replace("svg+xml", "png")
            + page[a.end(1) :]
        )
    files[PAGE] = page.encode()
    return ("swapped", "gone", "broken over lines", "of another kind")[how]

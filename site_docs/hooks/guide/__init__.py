"""A Markdown extension for this guide: computed numbers, worked examples, generated tables, formulas.

In a page, outside of fenced code:

``::: NAME ARGUMENTS``
    a line of its own; becomes the Markdown that the generator of this name makes (``GENERATORS``).
``{{ FILE: PATH }}``
    one computed number, as short text: ``{{ one_red_on_nine_volts: current_ma }}``.
``$ ... $`` and a line ``$$ ... $$``
    a formula in TeX notation, turned into MathML.

Whatever cannot be computed ends the build with the page's own words in the message. An extension and no
generated pages: the same files can be read by any builder that uses Python-Markdown.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

from markdown import Extension, Markdown
from markdown.inlinepatterns import InlineProcessor
from markdown.preprocessors import Preprocessor

from guide import checks, facts, formulas, interface, worked

GENERATORS = {
    **worked.GENERATORS,
    **facts.GENERATORS,
    **interface.GENERATORS,
    **checks.GENERATORS,
}

_DIRECTIVE = re.compile(r"^::: *([a-z-]+) *(.*)$")
_NUMBER = re.compile(r"\{\{ *([a-z0-9_]+) *: *([A-Za-z0-9_.]+) *\}\}")
_FENCE = re.compile(r"^ *(`{3,}|~{3,})")
_BLOCK = re.compile(r"^\$\$(.+)\$\$$")


class Expand(Preprocessor):
    """Expand directives, numbers and block formulas before anything else reads the page."""

    def run(self, lines: list[str]) -> list[str]:
        done: list[str] = []
        fence = ""
        for line in lines:
            mark = _FENCE.match(line)
            if mark and (not fence or line.strip() == fence):
                fence = "" if fence else mark.group(1)
            if fence or mark:
                done.append(line)
                continue
            directive = _DIRECTIVE.match(line)
            if directive:
                name, arguments = directive.groups()
                if name not in GENERATORS:
                    raise ValueError(f"no generator is called {name!r}: {line}")
                done += ["", *GENERATORS[name](*arguments.split()).split("\n"), ""]
                continue
            done.append(_NUMBER.sub(lambda found: worked.number(*found.groups()), line))
        return [self._formula(line) for line in done]

    def _formula(self, line: str) -> str:
        block = _BLOCK.match(line.strip())
        if not block:
            return line
        html = f'<div class="formula">{formulas.mathml(block.group(1), display="block")}</div>'
        return str(self.md.htmlStash.store(html))


class Inline(InlineProcessor):
    """A formula in a line of text."""

    def handleMatch(self, m: re.Match[str], data: str) -> tuple[ElementTree.Element | str, int, int]:  # type: ignore[override] # noqa: N802
        return self.md.htmlStash.store(formulas.mathml(m.group(1))), m.start(0), m.end(0)


class Guide(Extension):
    """Registers the two."""

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802
        # After line ends are normal (30), before fenced code (25) and raw HTML (20) are taken out.
        md.preprocessors.register(Expand(md), "guide", 28)
        # After code spans (190) and escapes (180), so that a dollar in either stays one.
        md.inlinePatterns.register(Inline(r"\$([^$\s](?:[^$]*[^$\s])?)\$", md), "guide-formula", 178)


def makeExtension(**settings: object) -> Guide:  # noqa: N802
    """Return the extension, as Python-Markdown wants it."""
    return Guide(**settings)

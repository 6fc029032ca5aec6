"""The process that sets one document: `child.py ROOT TIMESTAMP MEGABYTES`. It knows nothing of the service.

ROOT holds main.typ and all that it reads; the result is ROOT/out.pdf. Warnings are errors: a font or a glyph that is
missing must never show on paper first. Nothing outside ROOT can be read, and nothing is fetched.
"""

import resource
import sys
from contextlib import suppress
from pathlib import Path

GIVEN_UP = 75
SECONDS = 20


def limit(megabytes: int) -> None:
    """Give this process no more than that much memory and processor time, and no memory image when it fails."""
    most = megabytes * 1024 * 1024
    with suppress(ValueError, OSError):  # not every system lets its memory be limited
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main(root: Path, timestamp: int) -> int:
    """Set the document; 0 where it was done."""
    import typst  # after the limits, which its threads count against too

    compiler = typst.Compiler(
        root=root,
        font_paths=typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[root / "fonts"]),
        package_path=root / "none",
        package_cache_path=root / "none",
    )
    try:
        made, warnings = compiler.compile_with_warnings(root / "main.typ", pdf_standards="ua-1", timestamp=timestamp)
    except typst.TypstError as error:
        sys.stderr.write("\n".join([error.message, *error.hints, *error.trace]))
        return 1
    except MemoryError:
        return GIVEN_UP
    if warnings or not isinstance(made, bytes):
        sys.stderr.write("\n".join(warning.message for warning in warnings))
        return 1
    (root / "out.pdf").write_bytes(made)
    return 0


if __name__ == "__main__":
    limit(int(sys.argv[3]))
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2])))

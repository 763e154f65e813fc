"""The way in for the office: a key, a file or pasted rows, and what the columns of a sheet are."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from flask import Response, g, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from sawready.errors import SettingsError
from sawready.readers.column_map import load_column_map
from sawready.readers.columns import REQUIRED
from sawready.web import office_map, office_session
from sawready.web.office_frame import MAP, Faults, blueprint, page, too_large, upload_of
from sawready.web.office_rows import preview
from sawready.web.office_session import office, visitor
from sawready.web.office_upload import Upload, kind_of_upload, tidy_name
from sawready.web.parts import parts
from sawready.web.problems import ProblemError

_WORKBOOK: Final = "This is a workbook of a spreadsheet program, not a sheet. Save it as CSV there first."
_NO_TEXT: Final = "This is a PDF, a picture or a packed file, not text. Choose the CSV or JSON file."
_SIGNATURES: Final = {
    b"PK\x03\x04": _WORKBOOK,
    b"\xd0\xcf\x11\xe0": _WORKBOOK,
    b"%PDF": _NO_TEXT,
    b"\x89PNG": _NO_TEXT,
    b"\xff\xd8\xff": _NO_TEXT,
    b"\x1f\x8b": _NO_TEXT,
}
"""How files begin that people choose by mistake, and what is said of them."""


@blueprint.get("/office/key")
def ask_for_key() -> AnyResponse:
    """The page that asks for a key."""
    if g.office_caller is not None:
        return redirect(url_for("office.ask_for_file"), 303)
    return page("key.html")


@blueprint.post("/office/key")
def take_key() -> AnyResponse:
    """Begins a session."""
    if not office_session.begin_session(request.form.get("key", "").strip()):
        return page(
            "key.html", faults=[("key", "The key is unknown, ended or revoked. Check it, or ask for one.")]
        )
    return redirect(url_for("office.ask_for_file"), 303)


@blueprint.post("/office/leave")
def leave() -> AnyResponse:
    """Ends the session."""
    office_session.end_session()
    return redirect(url_for("office.ask_for_file"), 303)


@blueprint.get("/")
def ask_for_file() -> Response:
    """The form to upload an order."""
    return _ask_for_file({}, [])


def _ask_for_file(given: Mapping[str, str], faults: Faults) -> Response:
    return page("upload.html", faults=faults, given=given, choices=_caller_choices(), most=too_large())


def _caller_choices() -> dict[str, tuple[str, ...]]:
    catalogue = parts().catalogue
    return {**office_map.CHOICES, "system": catalogue.systems, "rulebook": catalogue.rulebooks}


def _said(faults: Faults) -> dict[str, str]:
    """What a form says for orders that do not say it themselves."""
    found = {}
    for name, values in _caller_choices().items():
        text = request.form.get(name, "").strip()
        if text and text in values:
            found[name] = text
        elif text:
            faults.append((name, f"{name.replace('_', ' ')} is none of those that there are. Choose one."))
    return found


@blueprint.post("/")
def take_file() -> AnyResponse:
    """Takes a file, or what was pasted, and goes on to what came of it."""
    faults: Faults = []
    name, data = _sent(faults)
    map_name, map_data = _sent_map(faults)
    caller = _said(faults)
    if faults:
        return _ask_for_file(request.form, faults)
    kind = kind_of_upload(name, data)
    upload = Upload(name, kind, data, visitor().firm, caller, map_name, map_data if kind == "csv" else None)
    token = office().shelf.put("upload", upload.packed())
    needs_map = kind == "csv" and upload.map_data is None and not _has_our_headings(upload)
    return redirect(
        url_for("office.ask_for_columns" if needs_map else "office.show_result", token=token), 303
    )


def _sent(faults: Faults) -> tuple[str, bytes]:
    """Name and bytes of the file, or of what was pasted."""
    most = parts().settings.most_json_bytes
    file, pasted = request.files.get("file"), request.form.get("pasted", "")
    name, data = "pasted", pasted.encode("utf-8", "surrogatepass")
    if file is not None and file.filename:
        name, data = tidy_name(file.filename, "upload"), file.stream.read(most + 1)
        if pasted.strip():
            faults.append(("pasted", "There is a file and pasted text. Choose one of the two."))
    elif not pasted.strip():
        faults.append(("file", "Choose a file, or paste rows or JSON."))
    if len(data) > most:
        faults.append(("file" if name != "pasted" else "pasted", too_large()))
    elif (
        mistaken := next((said for sign, said in _SIGNATURES.items() if data.startswith(sign)), None)
    ) is not None:
        faults.append(("file", mistaken))
    elif name != "pasted" and not data:
        faults.append(("file", "The file is empty. Choose another."))
    return name, data


def _sent_map(faults: Faults) -> tuple[str, bytes | None]:
    """Name and bytes of the column map; None where there is none."""
    file = request.files.get("columns")
    if file is None or not file.filename:
        return "", None
    name, data = tidy_name(file.filename, MAP), file.stream.read(parts().settings.most_json_bytes)
    try:
        load_column_map(data, name=name)
    except SettingsError as trouble:
        faults.append(("columns", str(trouble)))
    return name, data


def _has_our_headings(upload: Upload) -> bool:
    found = preview(upload.data, skip_rows=0, most=1)
    supplied = {*found.header, *(name for name in ("system", "rulebook") if name in upload.caller)}
    return found.trouble is None and supplied.issuperset(REQUIRED)


@blueprint.get("/office/<string:token>/columns")
def ask_for_columns(token: str) -> Response:
    """The form that says what the columns of a sheet are."""
    upload = upload_of(token)
    if upload.kind != "csv":
        raise ProblemError("not-found", "Only a sheet has columns.")
    skip = request.args.get("skip_rows", "")
    number = office_map.count_of(skip)
    faults: Faults = (
        [] if number is not None or not skip else [("skip_rows", "Say how many rows, as a number.")]
    )
    found = preview(upload.data, skip_rows=number)
    given = {f"column_{at}": office_map.same_heading(text) for at, text in enumerate(found.header)}
    return _ask_for_columns(token, upload, {**upload.caller, **given}, found, faults)


def _ask_for_columns(
    token: str, upload: Upload, given: Mapping[str, str], found: Any, faults: Faults
) -> Response:
    return page(
        "columns.html",
        faults=faults,
        token=token,
        upload=upload,
        given=given,
        preview=found,
        choices=_caller_choices(),
        columns=office_map.choices(),
        ignored=office_map.IGNORED,
    )


@blueprint.post("/office/<string:token>/columns")
def take_columns(token: str) -> AnyResponse:
    """Takes what the columns are, and goes on to what came of the sheet."""
    upload = upload_of(token)
    faults: Faults = []
    said = _said(faults)
    skip = office_map.count_of(request.form.get("skip_rows", ""))
    found = preview(upload.data, skip_rows=skip or 0)
    if found.trouble is not None:
        faults.append(("skip_rows", found.trouble))
    chosen = {at: request.form.get(f"column_{at}", "") for at in range(len(found.header))}
    written, wrong = office_map.made_map(found.header, chosen, said, skip or 0)
    faults.extend(wrong)
    if not faults:
        try:
            load_column_map(written, name=MAP)
        except SettingsError as trouble:
            faults.append(("column_0", str(trouble)))
    if faults:
        return _ask_for_columns(token, upload, request.form, found, faults)
    mapped = replace(upload, caller={}, map_name=MAP, map_data=written)
    office().shelf.put("upload", mapped.packed(), token)
    return redirect(url_for("office.show_result", token=token), 303)

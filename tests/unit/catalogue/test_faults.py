"""How mistakes are told: by file, line and key, in the order of their lines."""

from sawready.catalogue.faults import CatalogueFileError, Fault, faults_text, path_text


def test_a_path_counts_rows_from_one() -> None:
    assert path_text(()) == ""
    assert path_text((0,)) == "row 1"
    assert path_text((0, 1, "a")) == "row 1 row 2, a"
    assert path_text(("beads", 0)) == "beads row 1"
    assert path_text(("beads", 0, "a", "b")) == "beads row 1, a.b"


def test_a_fault_says_what_it_knows() -> None:
    assert str(Fault("f.yaml", 3, ("a", "b"), "is odd.")) == "f.yaml, line 3: a.b: is odd."
    assert str(Fault("f.yaml", None, (), "is odd.")) == "f.yaml: is odd."
    assert str(Fault("f.yaml", 3, (), "is odd.")) == "f.yaml, line 3: is odd."


def test_faults_come_by_line_those_without_one_first() -> None:
    faults = [Fault("f", 9, (), "c"), Fault("f", None, (), "a"), Fault("f", 2, (), "b")]
    assert faults_text(faults) == "f: a\nf, line 2: b\nf, line 9: c"


def test_the_error_keeps_its_faults() -> None:
    fault = Fault("f", 2, (), "b")
    error = CatalogueFileError([fault])
    assert error.faults == (fault,)
    assert str(error) == "f, line 2: b"

"""The kind of a tool that a list does not state."""

from sqlalchemy import text


def read_kinds(engine):
    with engine.connect() as connection:
        return dict(connection.execute(text("SELECT tool, kind FROM tool")).all())


def test_a_tool_without_a_kind_is_an_other_and_told_once(database, load_files):
    load_files(database, tools="tool,kind,size_mm\nsocket 17,socket,17\n")
    [file] = load_files(database, tools="tool,size_mm\nsocket 17,17\npuller,\nspanner,32\n").files
    assert (file.added, file.changed, file.unchanged) == (2, 0, 1)
    assert [(n.line, n.topic, n.column, n.message) for n in file.notices] == [
        (
            3,
            "assumed",
            "kind",
            "2 tools state no kind (lines 3 and 4); kept as 'other': no card takes them for a socket, a hex "
            "key or a torque wrench. Fill in kind where it is known, now or in a later list.",
        )
    ]
    assert read_kinds(database) == {"socket 17": "socket", "puller": "other", "spanner": "other"}
    [file] = load_files(database, tools="tool,kind,size_mm\nspanner,hex_key,32\n").files
    assert (file.changed, read_kinds(database)["spanner"]) == (1, "hex_key")

"""A form that carries what its fields showed: what was changed is told from what was only seen."""

from django import forms
from django.http import QueryDict

from fleet.elements.carried import CarriedForm, CarryingForm
from fleet.elements.edits import Edit
from fleet.refusals import Conflict


class Note(CarryingForm):
    """Notes and a name that are carried, and a reason that is not."""

    name = forms.CharField(required=False)
    notes = forms.CharField(required=False, widget=forms.Textarea)
    why = forms.CharField(required=False)

    def __init__(self, data=None):
        super().__init__(data, initial={"name": "Anna", "notes": "one\ntwo"})
        self.carry("name")
        self.carry("notes")


class Count(CarriedForm):
    """A number, carried as every field of such a form is."""

    number = forms.IntegerField(required=False, min_value=3)


def test_a_field_shows_a_value_and_carries_it():
    form = Note()

    assert [field.name for field in form.asked] == ["name", "notes", "why"]
    assert [(field.name, field.value()) for field in form.carried] == [("was_name", "Anna"), ("was_notes", "one\ntwo")]
    assert 'type="hidden"' in str(form["was_notes"])


def test_an_edit_has_what_was_seen_and_what_is_wanted_with_the_line_ends_on_file():
    form = Note(QueryDict("was_notes=one%0D%0Atwo&notes=one%0D%0Athree&why=so"))

    assert form.edits() == {"notes": Edit("one\ntwo", "one\nthree")}  # the name was not sent, so it is left alone
    assert form.edits()["notes"].differs
    assert not Edit(" a ", "a").differs


def test_what_is_carried_is_read_as_its_field_reads_it_and_is_never_at_fault():
    form = Count(QueryDict("was_number=5&number=7"))

    assert form.is_valid()
    assert (form.was(), form.told()) == ({"number": 5}, {"number": 7})
    assert Count(QueryDict("number=7")).is_valid()


def test_after_a_conflict_the_form_carries_what_is_on_file_by_now():
    form = Note(QueryDict("was_name=Anna&name=Bea"))
    form.refuse(Conflict({"name": "It is Cleo now."}, now={"name": "Cleo"}))

    assert (form["name"].value(), form["was_name"].value(), form.status) == ("Bea", "Cleo", 409)
    assert form.errors["name"] == ["It is Cleo now. Save again to have yours instead."]


class Address(CarriedForm):
    """A kind of text that takes no word about the blanks around it."""

    email = forms.EmailField(required=False)


def test_every_kind_of_text_is_carried():
    form = Address(QueryDict("was_email=a@example.com&email=b@example.com"))

    assert (form.was(), form.is_valid()) == ({"email": "a@example.com"}, True)

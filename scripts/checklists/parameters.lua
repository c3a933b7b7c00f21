-- The controller's parameters against the model's one golden list (golden/MODEL.lua), else its description.
return {
    name = "parameters",
    title = "Parameters against the golden list",
    text = "Controls on, heat off. Read each parameter from the controller: Enter when it is the same, else type what it shows. Change nothing before the list is through.",
    due = "After a reset, a repair of the controls, and at every half-year check: the fingerprint says in one word whether anything changed.",
    cautions = {
        "Covers on: nothing is opened for this list. Element switch off, so that a changed value cannot heat.",
        "Local codes and a licensed electrician come before this sheet. Never bridge a protective device.",
    },
    steps = {
        {
            id = "each", station = "Covers on, controls on, heat off", who = "owner", same = "each parameter",
            text = "each parameter", if_not = "load the golden value and read it again", source = "the model's golden list",
        },
    },
}

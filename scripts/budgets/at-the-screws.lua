-- A calibrator that plays a thermocouple, joined to the controller's screws by extension wire of that
-- type. It proves the input: not the couple, not the extension that was lifted off.
return {
    name = "a calibrator at the screws",
    note = "widths marked judgement are to be replaced by your calibrator's own",
    inputs = {
        { name = "calibrator", stands_for = "reference", shape = "rectangular", width = "20uV",
          source = "judgement: its data sheet says" },
        { name = "its own cold junction", shape = "rectangular", width = "0.9F",
          source = "judgement: its data sheet says; warmed up and out of the draught" },
        { name = "lead of extension wire", shape = "rectangular", width = "0.5F",
          source = "judgement: a short lead, both ends near room temperature" },
        { name = "screws warmer than the input's sensor", shape = "rectangular", width = "1F",
          source = "judgement: cover on, half an hour after switching on" },
    },
}

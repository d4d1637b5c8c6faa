import datetime, openpyxl
from openpyxl.styles import numbers
wb = openpyxl.Workbook()
ws = wb.active
ws.title = "Hips"
ws.append(["Patient ID", "Side", "Surgery", "Head (mm)", "liner_mm", "PE type", "Group", "Sex", "Age", "BMI", "Smoker", "Remarks"])
rows = [(i, "right") for i in range(1, 27)] + [(i, "left") for i in range(1, 5)]
for i, side in rows:
    ws.append([f"P{i:02d}", side, datetime.datetime(2002, 5, i), (28, 32, 36)[i % 3], 8.3 if i % 2 else 6, "XLPE" if i % 2 else "conventional",
               "A" if i % 2 else "B", "female" if i % 3 else "male", 50 + i, 22 + i / 10, i % 4 == 0, "by hand" if i == 7 else None])
    c = ws.cell(ws.max_row, 3)
    c.number_format = "DD.MM.YYYY" if i % 2 else numbers.FORMAT_DATE_XLSX14
wb.create_sheet("Notes").append(["nothing to import"])
wb.save("hips.xlsx")

wb = openpyxl.Workbook()
wb.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
ws = wb.active
ws.append([])
ws.append(["patient", "side", "surgery", "head_mm", "liner_mm", "lipped"])
ws.append(["A1", "right", datetime.datetime(2004, 2, 29), 28.1, 8, True])
ws.append(["A2", "right", datetime.datetime(2004, 2, 29), "=20+8", 8, False])
ws.append(["A3", "left", "2004-02-29", 28, None, None])
ws.append(["A4", "left", 38045, 28, 8, None])
ws.append(["A5", "left", "31.5.2004", "28,5", 8, None])
ws["E5"] = "#N/A"
ws["E5"].data_type = "e"
ws.append([])
ws.append(["A6", "right", datetime.datetime(2004, 2, 29, 13, 30), 32, 8, None])
wb.save("odd.xlsx")

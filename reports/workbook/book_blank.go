package workbook

const guideName = "about this book"

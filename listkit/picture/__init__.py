"""Pictures: opened safely, turned upright, brought to sRGB, measured once, cut and written.

The only layer beside the readers that opens the owner's files. Bad files are told as
`FieldError`; no exception or warning of a picture library gets out.
"""

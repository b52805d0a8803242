"""The metadata of an archived document as XMP (ISO 16684-1:2012), which says the same as its information.

ISO 19005-3:2012, 6.6.2 wants the two to agree, and every property that is not predefined to be described.
"""

from markupsafe import escape

from certgen.certificate.archive_record import Record

_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
    xmlns:dc="http://purl.org/dc/elements/1.1/"
    xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/"
    xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
    xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
    xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
    xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"
    xmlns:certgen="{namespace}">
   <pdfaid:part>3</pdfaid:part>
   <pdfaid:conformance>B</pdfaid:conformance>
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
   <dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
   <dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
   <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
   <pdf:Keywords>{keywords}</pdf:Keywords>
   <pdf:Producer>{producer}</pdf:Producer>
   <xmp:CreatorTool>{creator}</xmp:CreatorTool>
   <xmp:CreateDate>{day}T00:00:00Z</xmp:CreateDate>
   <xmp:ModifyDate>{day}T00:00:00Z</xmp:ModifyDate>
{stated}
   <pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
    <pdfaSchema:schema>{schema}</pdfaSchema:schema>
    <pdfaSchema:namespaceURI>{namespace}</pdfaSchema:namespaceURI>
    <pdfaSchema:prefix>certgen</pdfaSchema:prefix>
    <pdfaSchema:property><rdf:Seq>
{properties}
    </rdf:Seq></pdfaSchema:property>
   </rdf:li></rdf:Bag></pdfaExtension:schemas>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""
_PROPERTY = """     <rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>{name}</pdfaProperty:name>
      <pdfaProperty:valueType>Text</pdfaProperty:valueType>
      <pdfaProperty:category>internal</pdfaProperty:category>
      <pdfaProperty:description>{description}</pdfaProperty:description>
     </rdf:li>"""


def xmp(record: Record, digest: str) -> bytes:
    """Return the packet; `digest` is that of everything that stands before it in the file."""
    form = record.form
    own = {"format": form.format, "kind": record.kind, "printed": record.printed, "digest": digest}
    stated = (f"   <certgen:{name}>{escape(own[name])}</certgen:{name}>" for name in form.properties)
    described = (_PROPERTY.format(name=name, description=text) for name, text in form.properties.items())
    values = {
        "title": record.title,
        "author": record.author,
        "subject": record.subject,
        "language": record.language,
        "keywords": record.keywords,
        "producer": record.producer,
        "creator": record.creator,
        "day": record.day.isoformat(),
        "namespace": form.namespace,
        "schema": form.schema,
    }
    safe = {key: str(escape(value)) for key, value in values.items()}
    return _PACKET.format(stated="\n".join(stated), properties="\n".join(described), **safe).encode()

"""Every address: its view and name, who may see it and what they do there, and where it stands in the menu.

The menu and the page of roles follow this order, part by part.
"""

from fleet.addresses import care, each_day, outlook, promises, record, settings

handler404 = "fleet.web.door.not_found"
urlpatterns = [
    *each_day.ADDRESSES,
    *promises.ADDRESSES,
    *care.ADDRESSES,
    *record.ADDRESSES,
    *outlook.ADDRESSES,
    *settings.ADDRESSES,
]

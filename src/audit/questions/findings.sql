-- Cord gases by vessel with a pH, and how the blood loss was found.
select mode, month, gases, blood_loss, count(*) as n
from births
group by mode, month, gases, blood_loss
order by mode, month, gases, blood_loss
